"""The generated reference of every key and file format."""
