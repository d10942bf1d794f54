"""The tests; see DEVELOPERS.md for how they are sorted."""
