"""One step of TR-BDF2, its error, and local time stepping within it."""
