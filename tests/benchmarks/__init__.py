"""Benchmarks run by name: ``python -m tests.benchmarks.NAME``; each prints ratios against a baseline of the same run."""
