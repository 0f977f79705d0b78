"""What drives a run: boundary conditions, and what is set at the start of every hour."""
