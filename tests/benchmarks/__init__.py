"""Benchmarks run by name, ``python -m tests.benchmarks.NAME``; each prints ratios within one run."""
