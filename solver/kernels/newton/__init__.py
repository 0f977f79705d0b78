"""Nonlinear solution of one implicit stage."""
