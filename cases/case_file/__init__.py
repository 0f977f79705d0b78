"""One case from one TOML file: models, reading, messages, variants, starters."""
