"""Parametric foundation details and free-form sections."""
