"""Pages of the trade: mix, water, kit, tax."""
