"""The documented recipe for several machines, run as it is printed on a cluster of this one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pcompare.portfolio import runner
from tests import many_plants, plants

distributed = pytest.importorskip("distributed", reason="dask is not installed")
RECIPE = re.compile(r"```python\n(from dask.*?)```", re.DOTALL)


@pytest.fixture
def on_cluster():
    """The function that DEVELOPERS.md prints."""
    text = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    found: dict[str, object] = {}
    exec(RECIPE.search(text)[1], found)
    return found["on_cluster"]


@pytest.mark.filterwarnings("default")  # of the engine itself
def test_a_cluster_finds_what_one_process_finds(tmp_path, on_cluster, monkeypatch):
    monkeypatch.setattr(runner, "LEAST", 2)
    monkeypatch.setattr(runner, "MOST", 2)
    base, path = tmp_path / "base.toml", tmp_path / "plants.csv"
    base.write_text(plants.even_text(), encoding="utf-8")
    rows = [dict(row) for row in many_plants.rows(6, 12, kinds=1)]
    rows[3]["influent.tp"] = "none"
    path.write_text(many_plants.text(rows), encoding="utf-8")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        found = runner.run(path, tmp_path / "cluster", base, on_cluster(client))
    runner.run(path, tmp_path / "here", base)
    assert (found.compared, found.skipped, found.chunks) == (5, 1, 3)
    for name in runner.FILES:
        there, here = ((tmp_path / place / name).read_bytes() for place in ("cluster", "here"))
        assert there == here and there.count(b"\n") > 1
