"""From a register of a million survivors to an answer: python benchmarks/million.py

Writes a CSV of 1,000,000 sets by 40 features (about 275 MB) into a temporary folder, and answers from its first
quarter, its first half and all of it, each in a process of its own. Time runs from opening the files to the answer
(processor time of all threads beside it, for machines that do other work as well); peak memory is the whole process's.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.csv as pa_csv
from common import about_the_machine, family_of_size

from setwright.identity.model import SURENESSES, Family
from setwright.identity.simulate import OTHER_STATE, DrawnSets, draw_production, draw_sets

FEATURES = 40
VERSIONS = 5
SERIALS = 40_000_000
CHUNK = 50_000
STATES = ("type-A1", "type-B12")
"""As long as states usually are, so that a million rows come to about 275 MB."""


def family() -> Family:
    return family_of_size(FEATURES, VERSIONS, SERIALS)


def family_text(of: Family) -> str:
    lines = ['format = "setwright-family/1"', f'id = "{of.id}"', f'name = "{of.name}"', 'kind = "radio"']
    lines += [f"first_serial = 1\nlast_serial = {of.last_serial}"]
    states = ", ".join(f'"{state}"' for state in STATES)
    for feature in of.features:
        lines += [f'[[feature]]\nid = "{feature.id}"\naccess = "{feature.access}"\npermanence = "{feature.permanence}"']
        lines += [f"states = [{states}]"]
    for version in of.versions:
        built = ", ".join(f'{f} = "{STATES[state == "new"]}"' for f, state in version.states.items())
        lines += [f'[[version]]\nid = "{version.id}"\nstates = {{ {built} }}']
    return "\n".join(lines) + "\n"


def set_text(of: Family, drawn: DrawnSets) -> str:
    lines = [f'format = "setwright-set/1"\nid = "on-the-bench"\nfamily = "{of.id}"\nserial = "{drawn.position[0]}"']
    for feature, codes in drawn.seen.items():
        if codes[0] >= 0:
            lines.append(f'[[observation]]\nfeature = "{feature}"\nstate = "{_shown()[codes[0] // len(SURENESSES)]}"')
    return "\n".join(lines) + "\n"


def _shown() -> tuple[str, ...]:
    return (*STATES, OTHER_STATE)


def tables(of: Family, rows: int) -> Iterator[pa.Table]:
    """The register in chunks; serials are spread over the run without repetition."""
    rng = np.random.default_rng(40)
    production = draw_production(of, rng)
    step = SERIALS // rows
    order = rng.permutation(rows)
    for first in range(0, rows, CHUNK):
        number = order[first : first + CHUNK].astype(np.int64)
        position = number * step + rng.integers(1, step + 1, size=len(number))
        drawn = draw_sets(production, len(number), rng, line="main", position=position)
        shown = pa.array(_shown())
        columns = {
            "id": pa.array([f"set-{i}" for i in range(first, first + len(number))]),
            "serial": pa.array(position),
        }
        for feature, codes in drawn.seen.items():
            states = pa.array(codes // len(SURENESSES), mask=codes < 0)
            columns[feature] = shown.take(states)
        yield pa.table(columns)


def write_register(of: Family, path: Path, rows: int) -> None:
    options = pa_csv.WriteOptions(quoting_style="none")
    writer = None
    with path.open("wb") as file:
        for table in tables(of, rows):
            writer = writer or pa_csv.CSVWriter(file, table.schema, write_options=options)
            writer.write_table(table)
        if writer is not None:
            writer.close()


def first_rows(source: Path, target: Path, rows: int) -> None:
    """The header and so many rows."""
    with source.open("rb") as whole, target.open("wb") as part:
        part.writelines(islice(whole, rows + 1))


def answer(folder: Path, register: str) -> dict[str, float | str]:
    """What the child process does and reports."""
    from setwright.files import answer_as_json, read_family, read_set, read_survivors
    from setwright.identity import identify

    start, cpu = time.perf_counter(), time.process_time()
    of = read_family(folder / "family.toml").family
    bench = read_set(folder / "set.toml", of).set
    survivors = read_survivors(folder / register, of, bench=bench).survivors
    read = time.perf_counter()
    result = answer_as_json(identify(of, bench, survivors))
    done = time.perf_counter()
    return {
        "rows": len(survivors),
        "read": read - start,
        "answer": done - read,
        "cpu": time.process_time() - cpu,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "verdict": str(result["verdict"][0]["label"]),
        "probability": float(result["verdict"][0]["probability"]),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--child", nargs=2, metavar=("FOLDER", "REGISTER"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        print(json.dumps(answer(Path(options.child[0]), options.child[1])))
        return
    print(about_the_machine())
    with tempfile.TemporaryDirectory(prefix="setwright-bench-") as name:
        folder = Path(name)
        of = family()
        production = draw_production(of, np.random.default_rng(40))
        bench = draw_sets(production, 1, np.random.default_rng(41))
        (folder / "family.toml").write_text(family_text(of))
        (folder / "set.toml").write_text(set_text(of, bench))
        write_register(of, folder / "whole.csv", options.rows)
        print("\n| survivors |   file |   read | answer | together | processor |    peak |")
        print("|-----------|--------|--------|--------|----------|-----------|---------|")
        verdicts = []
        for parts in (4, 2, 1):
            path = folder / f"part-{parts}.csv"
            first_rows(folder / "whole.csv", path, options.rows // parts)
            megabytes = path.stat().st_size / 1e6
            command = [sys.executable, __file__, "--child", name, path.name]
            found = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
            path.unlink()
            together = found["read"] + found["answer"]
            print(
                f"| {found['rows']:>9,} | {megabytes:3.0f} MB | {found['read']:4.2f} s | {found['answer']:4.2f} s "
                f"| {together:6.2f} s | {found['cpu']:7.2f} s | {found['peak_mb']:4.0f} MB |",
                flush=True,
            )
            verdicts.append(f"{found['verdict']} ({found['probability']:.3f})")
        print(f"\nVerdicts: {'; '.join(verdicts)}")


if __name__ == "__main__":
    main()
