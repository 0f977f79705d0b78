"""Moisture alone."""
