"""Many plants: read, designed together, kept as they go, and told in one table and one page."""
