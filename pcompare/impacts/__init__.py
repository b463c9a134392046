"""What a strategy does beyond the plant: to those who use the water again, and to the climate."""
