"""What a person states: section, climates, ground, settings; frozen, SI, no mesh."""
