"""These tests are about the database file in the data folder: where the records are in PostgreSQL there is none."""

from __future__ import annotations

import os

collect_ignore_glob = ["test_*.py"] if os.environ.get("DATABASE_URL") else []
