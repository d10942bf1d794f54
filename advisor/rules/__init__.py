"""The rules: each watches one thing, says a level, and caps the suitability through one table."""
