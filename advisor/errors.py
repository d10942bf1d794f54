"""One tree of errors. Each says what happened, why, and what to do next; no traceback reaches a user.

The command line maps every ``AdvisorError`` to exit status 1 in one place; wrong usage is status 2.
"""


def printable(text: object, most: int = 40) -> str:
    """What was typed or written in a file, for a sentence: at most so many letters, and none that could disturb a page.

    Parameters
    ----------
    text : object
        As received.
    most : int
        Letters kept.

    Returns
    -------
    str
        With a question mark for each character that cannot be printed. Never raises.
    """
    return "".join(c if c.isprintable() else "?" for c in str(text))[:most]


class AdvisorError(Exception):
    """Base of every error this package raises on purpose; the message is a sentence for the user."""


class FetchError(AdvisorError):
    """A report could not be fetched: network, service or an answer that is not what was asked for."""


class StoreError(AdvisorError):
    """The store of past reports on disk could not be read or written."""


class DecodeError(AdvisorError):
    """A text is not a report of the kind asked for.

    Parameters
    ----------
    message : str
        What is wrong, and what to do.
    text : str
        The report as received.
    group : str or None
        The group that could not be placed, when one is to blame.
    """

    def __init__(self, message: str, text: str = "", group: str | None = None) -> None:
        super().__init__(message)
        self.text = text
        self.group = group


class WrongReport(AdvisorError):
    """A report was refused: another station's, from the future, cancelled or empty."""


class UnknownStation(AdvisorError):
    """No station of that identifier is known, and none was described."""


class DataFileError(AdvisorError):
    """A school, limits or data file is wrong; the message lists every fault with its path."""


class UnknownRule(AdvisorError):
    """No rule has that code; the message lists the known ones."""


class UnknownLesson(AdvisorError):
    """No lesson has that name; the message lists the known ones."""


class ImpossibleTriangle(AdvisorError):
    """The wind is too strong for the airspeed: no heading holds the course."""


class GeometryError(AdvisorError):
    """The geometry was asked for something that makes no sense, such as a wind range the wrong way round."""


class TimeError(AdvisorError):
    """A time could not be read, or is ambiguous because of a clock change."""
