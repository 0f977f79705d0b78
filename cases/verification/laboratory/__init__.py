"""Laboratory: the tests that give a material its numbers, simulated for every entry of the catalogue."""
