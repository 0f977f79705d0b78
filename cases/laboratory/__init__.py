"""From the results of a laboratory to a material: sheets read, fitted, checked against simulated tests, shown."""
