"""What must hold whatever the numbers, and orders of convergence."""
