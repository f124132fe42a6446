"""The project holds to its own layout: who may import whom, who may print, what the pins may name."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import setwright

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src" / "setwright"
ABOVE = {"files", "dossier", "workbench", "demo", "cli"}
"""The packages that stand above the computing ones and may read files, print or serve."""

FORBIDDEN_NAMES = {"print", "open", "input", "breakpoint", "exec", "eval"}
FORBIDDEN_MODULES = {"os", "io", "shutil", "tempfile", "pathlib", "subprocess", "socket", "logging", "sqlite3"}


def computing_packages() -> list[str]:
    return sorted(path.parent.name for path in SOURCE.glob("*/__init__.py") if path.parent.name not in ABOVE)


def pyproject() -> dict:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def reaching_out(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and name of everything in a module that prints, reads or writes files, or leaves the process."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FORBIDDEN_NAMES:
            yield node.lineno, node.func.id
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            name = node.func.attr
            if name in {"write_text", "write_bytes", "unlink", "mkdir", "savetxt", "tofile"}:
                yield node.lineno, name
        modules: list[str] = []
        if isinstance(node, ast.Import):
            modules = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            modules = [node.module or ""]
        yield from ((node.lineno, module) for module in modules if module.split(".")[0] in FORBIDDEN_MODULES)


def test_reaching_out_is_noticed() -> None:
    code = "import os\nfrom pathlib import Path\nprint(1)\nopen('x')\nPath('x').write_text('')\nimport osmosis\n"
    assert sorted(line for line, _ in reaching_out(ast.parse(code))) == [1, 2, 3, 4, 5]


@pytest.mark.parametrize("package", computing_packages())
def test_computing_packages_neither_print_nor_touch_files(package: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for path in sorted((SOURCE / package).rglob("*.py"))
        for line, name in reaching_out(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not found


def test_import_contract_names_every_computing_package() -> None:
    contracts = pyproject()["tool"]["importlinter"]["contracts"]
    forbidden = next(contract for contract in contracts if contract["type"] == "forbidden")
    assert sorted(forbidden["source_modules"]) == [f"setwright.{name}" for name in computing_packages()]


def test_every_package_tells_what_it_is() -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in SOURCE.rglob("__init__.py")
        if "migrations" not in path.parts and not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not silent


@pytest.mark.parametrize("path", sorted((ROOT / "requirements").glob("*.txt")), ids=lambda path: path.name)
def test_constraints_pin_one_version_each_and_name_no_host(path: Path) -> None:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    assert lines
    assert [line for line in lines if not re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.]+", line)] == []
    names = [re.sub(r"[-_.]+", "-", line.split("==")[0]).lower() for line in lines]
    assert len(names) == len(set(names))


def test_every_dependency_is_pinned() -> None:
    pinned = {
        re.sub(r"[-_.]+", "-", line.split("==")[0]).lower()
        for path in (ROOT / "requirements").glob("*.txt")
        for line in path.read_text(encoding="utf-8").splitlines()
        if "==" in line
    }
    project = pyproject()["project"]
    wanted = [
        *project["dependencies"],
        *(name for extra in project["optional-dependencies"].values() for name in extra),
    ]
    names = {re.match(r"[A-Za-z0-9._-]+", requirement).group().replace("_", "-").lower() for requirement in wanted}
    assert names <= pinned


def test_changelog_speaks_of_this_version() -> None:
    assert f"## {setwright.__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_readme_gives_the_job_and_then_the_two_commands() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    paragraphs = [part for part in text.split("\n\n") if part.strip()]
    assert paragraphs[0].startswith("# Setwright")
    assert "which version" in paragraphs[1]
    first_code = next(part for part in paragraphs if part.startswith("```"))
    assert [line for line in first_code.splitlines() if line.startswith("make ")] == ["make demo", "make test"]


def test_pictures_of_the_readme_are_there() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text)
    assert [name for name in pictures if not (ROOT / name).is_file()] == []


def test_skipped_tests_fail_the_run_in_ci(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text(encoding="utf-8"))
    (tmp_path / "test_it.py").write_text("import pytest\ndef test_a(): pass\ndef test_b(): pytest.skip('no need')\n")
    codes = {}
    for ci in ("", "true"):
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:django", "-c", "/dev/null",
             "--rootdir", str(tmp_path), str(tmp_path)],
            env={"PATH": "/usr/bin:/bin", "CI": ci},
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        codes[ci] = run.returncode
    assert codes == {"": 0, "true": 1}
