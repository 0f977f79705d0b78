"""What the outside does: hourly weather, its readers and checks, sun, sky, rain, ground temperature, surface films."""
