"""Heat and moisture together."""
