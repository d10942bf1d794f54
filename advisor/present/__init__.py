"""Pages and texts: shows what was worked out elsewhere, and computes nothing."""
