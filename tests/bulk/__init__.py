"""Bulk checks run by name: ``python -m tests.bulk.NAME --count N``."""
