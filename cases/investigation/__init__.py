"""Why a place is wet: sources switched off one by one and together, and what crosses the faces of a part."""
