"""Air, sun and rain."""
