"""From a section to control volumes and what joins them."""
