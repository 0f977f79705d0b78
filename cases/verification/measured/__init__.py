"""Measured foundations, soils and materials."""
