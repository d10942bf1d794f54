"""Weather-aware practice-day advisor for ground-reference flying lessons.

Raw reports become conditions, conditions and geometry become cautions, cautions become ratings. The
advisor describes, cautions and ranks; the instructor decides.
"""

__version__: str


def __getattr__(name: str) -> str:
    # reading the installed metadata costs more than decoding a report, so it waits until someone asks
    if name != "__version__":
        raise AttributeError(f"module 'advisor' has no attribute {name!r}")
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("practice-day-advisor")
    except PackageNotFoundError:  # running from a source tree that was never installed
        return "0+unknown"
