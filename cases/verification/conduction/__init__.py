"""Heat conduction."""
