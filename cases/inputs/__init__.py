"""How values are written: numbers with units, dates, field types, and what is wrong with them."""
