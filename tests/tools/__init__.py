"""Small commands that keep test data honest."""
