"""What surrounds a section: indoor air, computed air, the site, water that comes at a time."""
