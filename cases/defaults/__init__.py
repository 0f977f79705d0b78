"""Cases that come with the program: the default one, demonstrations, and short examples in Python."""
