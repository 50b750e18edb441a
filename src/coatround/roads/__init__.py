"""Travel times between places."""
