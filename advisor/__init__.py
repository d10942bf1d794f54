"""Weather-aware practice-day advisor for ground-reference flying lessons.

Raw reports become conditions, conditions and geometry become cautions, cautions become ratings. The
advisor describes, cautions and ranks; the instructor decides.
"""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("practice-day-advisor")
except PackageNotFoundError:  # running from a source tree that was never installed
    __version__ = "0+unknown"
