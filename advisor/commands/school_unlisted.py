"""A field that the packed list does not hold, for a starter school file: as the weather service's own record has it.

The service is asked for its airport record (runways, variation) and, where it has none, for its weather station.
It gives no time zone: the file then says UTC, with a word on what to put there.
"""

from __future__ import annotations

from advisor.errors import AdvisorError, FetchError, UnknownStation
from advisor.places import RunwayEnd, Station
from advisor.reports.airports import AirportRecord, RunwayRecord, airport_record
from advisor.reports.fetch import Service

SOURCE = "the weather service's own record"
#: What such a file takes for a time zone until somebody puts the field's own.
NO_ZONE = "UTC"


def unlisted_field(unknown: UnknownStation, station: str) -> tuple[Station, tuple[RunwayEnd, ...]]:
    """A field and both ends of each of its runways.

    Parameters
    ----------
    unknown : UnknownStation
        How the packed list refused it.
    station : str
        Four characters, as the service knows it.

    Returns
    -------
    tuple
        The station, its time zone :data:`NO_ZONE`; ends without a measured bearing are marked as estimated from the
        painted number and the variation; runways of unknown length or direction are left out.

    Raises
    ------
    UnknownStation
        The service does not know it either, or could not be asked: the list's sentence, and why.
    """
    service = Service()
    try:
        rows = service.airports([station]) or service.stations([station])
        if not rows:
            raise FetchError("The weather service has no record of it either.")
        record = airport_record(next(iter(rows.values())))
        if record.elevation_ft is None:
            raise FetchError("The weather service's record of it has no elevation.")
    except AdvisorError as error:
        raise unknown if isinstance(error, UnknownStation) else UnknownStation(f"{unknown} {error}") from error
    place = Station(
        station=record.station,
        name=record.name or record.station,
        latitude_deg=record.latitude_deg,
        longitude_deg=record.longitude_deg,
        elevation_ft=float(round(record.elevation_ft)),
        time_zone=NO_ZONE,
        country="",
        source=SOURCE,
    )
    return place, tuple(end for runway in record.runways for end in _ends(runway, record))


def _ends(runway: RunwayRecord, record: AirportRecord) -> tuple[RunwayEnd, ...]:
    true_deg, estimated = runway.true_deg, False
    if true_deg is None and record.variation_deg is not None:
        true_deg, estimated = int(runway.ends[0].rstrip("LRC")) * 10 + record.variation_deg, True
    if true_deg is None or runway.length_ft is None:
        return ()
    return tuple(
        RunwayEnd(
            name=name,
            bearing_deg_true=(true_deg + turned) % 360,
            length_ft=runway.length_ft,
            surface=runway.surface or "not known",
            bearing_estimated=estimated,
        )
        for name, turned in zip(runway.ends, (0, 180), strict=True)
    )
