"""The road map of the firm: adding an extract, finding an address, streets to draw."""
