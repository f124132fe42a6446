"""Records from before there was a history are carried over: nothing of them is lost, and each has its first entry."""

from __future__ import annotations

import json
import subprocess
import sys

BEFORE = """
import json, os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "setwright.workbench.settings"
from pathlib import Path
Path(os.environ["SETWRIGHT_DATA"]).mkdir(parents=True, exist_ok=True)
import django
django.setup()
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

texts = json.loads(sys.argv[1])
old = [("families", "0001_initial"), ("sets", "0001_initial"), ("survivors", "0001_initial")]
executor = MigrationExecutor(connection)
executor.migrate(old)
apps = executor.loader.project_state(old).apps
family = apps.get_model("families", "FamilyRecord").objects.create(
    key="heron-6", name="Heron", kind="radio", line_count=1, version_count=2, feature_count=3, text=texts["family"],
    digest="f" * 64, file_name="wren.toml")
apps.get_model("sets", "SetRecord").objects.create(
    key="bench-1", family=family, serial="W 12", open_to="outside", observation_count=4, text=texts["set"],
    digest="s" * 64, file_name="bench.toml")
apps.get_model("survivors", "SurvivorRegister").objects.create(
    family=family, count=7, text=texts["survivors"], digest="r" * 64, file_name="wren.csv")
at = family.imported_at

call_command("migrate", verbosity=0)
from setwright.workbench.records.models import Revision
from setwright.workbench.sets.models import SetRecord
record = SetRecord.objects.select_related("family__register").get()
print(json.dumps({
    "entries": sorted(
        (e.kind, e.key, e.number, e.text, e.digest[0], e.by_name, e.what) for e in Revision.objects.all()),
    "set": [record.key, record.serial, record.observation_count, record.text, record.revision, record.removed_at],
    "register": [record.family.register.key, record.family.register.count],
    "same time": record.family.changed_at == at,
}))
"""


def test_what_was_there_is_the_first_entry(own_store: dict[str, str], texts: dict[str, str]) -> None:
    texts["set"] += "# \u00e9\n"
    run = subprocess.run(
        [sys.executable, "-c", BEFORE, json.dumps(texts)],
        env=own_store,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    what = "Taken over from before changes were kept"
    assert json.loads(run.stdout) == {
        "entries": [
            ["family", "heron-6", 1, texts["family"], "f", "you", what],
            ["set", "bench-1", 1, texts["set"], "s", "you", what],
            ["survivors", "heron-6", 1, texts["survivors"], "r", "you", what],
        ],
        "set": ["bench-1", "W 12", 4, texts["set"], 1, None],
        "register": ["heron-6", 7],
        "same time": True,
    }
