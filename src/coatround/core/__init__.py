"""The pure centre: no Django, no clock, no chance, no files; today, now and seed come in as arguments."""
