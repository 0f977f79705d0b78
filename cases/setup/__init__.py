"""From a case to what the solver needs."""
