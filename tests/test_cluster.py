"""A cluster gives what one process gives: two worker processes of one thread each, on this machine."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.archive import source
from advisor.archive.run import run_season
from advisor.archive.source import Part, prepare
from advisor.errors import DataFileError
from tests.season_archive import SETTINGS, archive, write_csv
from tests.test_season import equal

pytestmark = pytest.mark.cluster


@pytest.mark.filterwarnings("default")  # the library's own, from its event loop as it closes
def test_two_workers_give_what_one_process_gives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.archive.cluster import local_workers, rate_on_cluster

    monkeypatch.setattr(source, "PART_ROWS", 200)
    parts = prepare([write_csv(tmp_path / "a.csv", archive(days=12))], tmp_path / "work")
    assert len(parts) >= 3
    told: list[int] = []
    with local_workers(2) as address:
        found = rate_on_cluster(parts, SETTINGS, address, report=lambda part, _: told.append(part.first_row))
        gone = Part(str(tmp_path / "gone.parquet"), 0, 10, "x")
        with pytest.raises(DataFileError, match="cannot be read"):
            rate_on_cluster([gone], SETTINGS, address)
    equal(found, run_season(parts, SETTINGS, tmp_path / "work"))
    assert sorted(told) == [part.first_row for part in parts]


def test_no_scheduler_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.archive import cluster

    monkeypatch.setattr(cluster, "_TIMEOUT", "1s")
    with pytest.raises(DataFileError, match=r"No scheduler answers at tcp://127\.0\.0\.1:9"):
        cluster.rate_on_cluster([], SETTINGS, "tcp://127.0.0.1:9")
