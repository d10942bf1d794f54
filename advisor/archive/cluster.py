"""The same partitions over many machines, with dask distributed (extra ``cluster``).

Every worker opens the archive by its path, so the folder must be one that all of them see.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from advisor.archive.counts import Counts, Total
from advisor.archive.run import Report
from advisor.archive.season import Settings, rate_partition
from advisor.archive.source import Part
from advisor.errors import DataFileError

_TIMEOUT = "20s"


def _distributed() -> Any:
    try:
        import distributed
    except ImportError as error:
        raise DataFileError(
            "A cluster needs the library distributed. Install it with: "
            "python -m pip install 'practice-day-advisor[cluster]'."
        ) from error
    return distributed


@contextmanager
def local_workers(count: int) -> Iterator[str]:
    """A cluster on this machine: ``count`` processes of one thread each. Yields its address."""
    distributed = _distributed()
    cluster = distributed.LocalCluster(
        n_workers=count, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=None
    )
    try:
        yield str(cluster.scheduler_address)
    finally:
        cluster.close()


def rate_on_cluster(parts: Sequence[Part], settings: Settings, address: str, *, report: Report | None = None) -> Counts:
    """Rate every part on a cluster and add up.

    Parameters
    ----------
    parts : sequence of Part
        From ``source.prepare``, with paths that every worker can open.
    settings : Settings
        Stages, aircraft, limits.
    address : str
        The scheduler's, such as ``tcp://10.0.0.5:8786``.
    report : callable, optional
        Told of each finished part.

    Returns
    -------
    Counts
        The same as one process gives.

    Raises
    ------
    DataFileError
        The scheduler does not answer, a worker cannot open the archive, or workers were lost.
    """
    distributed = _distributed()
    total = Total(len(settings.setups))
    try:
        client = distributed.Client(address, timeout=_TIMEOUT, set_as_default=False)
    except (OSError, ValueError) as error:
        raise DataFileError(
            f"No scheduler answers at {address}: {error}. Check the address and that it runs."
        ) from error
    try:
        futures = {client.submit(rate_partition, part, settings, pure=False): part for part in parts}
        for future in distributed.as_completed(list(futures), loop=client.loop):
            part = futures.pop(future)
            try:
                total.add(future.result())
            except DataFileError:
                raise
            except Exception as error:
                raise DataFileError(
                    f"A part of {part.path} failed on the cluster ({type(error).__name__}: {error}). "
                    "Check that every worker has this version installed and sees that path."
                ) from error
            future.release()
            if report is not None:
                report(part, False)
    finally:
        client.close()
    return total.result()
