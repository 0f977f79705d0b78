"""What people run: case files, parametric details, reports and the command line."""
