"""Results read back, with the ledger of heat and water."""
