"""Runs, one or many, on one or more processes, and the same run refined."""
