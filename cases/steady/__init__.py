"""Steady and yearly heat conduction of a section: the numbers that standards and energy codes ask for."""
