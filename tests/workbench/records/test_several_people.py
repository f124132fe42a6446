"""Several people change one record at once: what was acknowledged is there, nothing is overwritten unawares."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

CAST = Path(__file__).parents[2] / "cast"
SCRIPT = Path(__file__).parent / "several_people.py"
ROLES = ("adding", "overwriting", "adding", "overwriting", "family")
TIMES = 3


def begin(store: dict[str, str], who: str, *files: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(SCRIPT), who, " ".join(ROLES), str(TIMES), *files],
        env=store,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def end(process: subprocess.Popen[str]) -> dict:
    out, err = process.communicate(timeout=240)
    assert process.returncode == 0, err
    assert "Traceback" not in err
    return json.loads(out)


def test_no_update_is_lost_in_one_process_or_two(own_store: dict[str, str]) -> None:
    first = end(begin(own_store, "first", str(CAST / "heron.toml"), str(CAST / "bench-1.toml")))
    together = [begin(own_store, who) for who in ("left", "right")]
    results = [first, *(end(process) for process in together)]
    for result in results:
        # Whoever only adds is never told to begin again; whoever overwrites is let through or told.
        assert len(result["kept"]["adding"]) == 2 * TIMES
        assert len(result["kept"]["family"]) == TIMES
        assert len(result["kept"]["overwriting"]) + len(result["told"]) == 2 * TIMES
    of_set = [remark for result in results for role in ("adding", "overwriting") for remark in result["kept"][role]]
    of_family = [remark for result in results for remark in result["kept"]["family"]]
    last = max(results, key=lambda result: result["revision"])
    assert sorted(remarks(last["texts"]["set"])) == sorted(of_set)
    assert last["revision"] == 1 + len(of_set)
    assert sorted(max((remarks(result["texts"]["family"]) for result in results), key=len)) == sorted(of_family)


def remarks(text: str) -> list[str]:
    return [line for line in text.splitlines(keepends=True) if line.startswith(("# first", "# left", "# right"))]
