"""The web application: forms, pages and tables round the pure core."""
