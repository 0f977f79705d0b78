"""References that share no code with the solver: series, similarity, spectral and finite elements."""
