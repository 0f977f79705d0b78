"""How the program ends."""

#: done; a verification case does not hold; the input cannot be used; the computation failed or nothing could be
#: written; interrupted
DONE, NOT_HELD, BAD_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130
