"""What the records teach: how long drives really take."""
