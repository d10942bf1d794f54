"""Wording and sorting of what goes wrong between us and a weather service."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.errors import FetchError
from advisor.reports.answers import rows_of


class PassingFault(FetchError):
    """A fault that may pass: worth another try, after ``wait_s`` seconds if the server named a time."""

    def __init__(self, message: str, wait_s: float | None = None) -> None:
        super().__init__(message)
        self.wait_s = wait_s


def refusal(status: int, body: bytes, content_type: str, what: str) -> str:
    """The sentence for a status that is not success; a JSON error body is quoted."""
    try:
        rows_of(body, content_type, what)
        said = ""
    except FetchError as error:
        said = f" {error}" if "refused the question" in str(error) else ""
    if status == 404:
        return f"{what} has nothing there (status 404). If the service has moved, set ADVISOR_SERVICE_URL."
    if status in (401, 403):
        return f"{what} turned us away (status {status}). Set ADVISOR_CONTACT to your e-mail address."
    return said.strip() or f"{what} refused the question (status {status}). Check the identifiers."


def cause(error: Exception) -> str:
    """Short, plain cause of a transport failure."""
    text = f"{type(error).__name__} {error}".lower()
    of_proxy = "the proxy set on this machine: " if "proxyerror" in text else ""
    for sign, words in (
        ("refused", "the connection was refused"),
        ("resolution", "its name could not be resolved"),
        ("resolve", "its name could not be resolved"),
        ("timed out", "it took too long"),
        ("timeout", "it took too long"),
        ("incomplete", "the answer broke off"),
        ("reset", "the connection was broken"),
        ("aborted", "the connection was broken"),
        ("disconnected", "the connection was broken"),
        ("decod", "the compressed answer was damaged"),
    ):
        if sign in text:
            return of_proxy + words
    return type(error).__name__


def retry_after_s(headers: Mapping[str, str]) -> float | None:
    """Seconds of a Retry-After header, as figures or as a date measured against the server's own Date."""
    from email.utils import parsedate_to_datetime  # here: it is slow to load and seldom needed

    value = headers.get("retry-after", "").strip()
    if value.isascii() and value.isdigit():
        return float(value[:9])
    try:
        return max(
            0.0,
            (parsedate_to_datetime(value) - parsedate_to_datetime(headers.get("date", ""))).total_seconds(),
        )
    except (TypeError, ValueError):
        return None
