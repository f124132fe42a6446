"""Where the records are in PostgreSQL no database file can be backed up or damaged; other tests are for that."""

from __future__ import annotations

import os

collect_ignore_glob = ["test_*.py"] if os.environ.get("DATABASE_URL") else ["on_postgres/*"]
