"""The verification on a page, as a record and on a terminal."""
