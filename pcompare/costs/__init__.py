"""Money: what is built, what it takes each year, and both brought to present worth."""
