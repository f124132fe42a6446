"""The casebook: families, survivors, sets, circuits, literature, photos and history in one packed file of open formats.

A zip file. `casebook.toml` lists every other file in it with its SHA-256 sum and its length; the others are

    families/<id>.toml   survivors/<family id>.csv   sets/<id>.toml   literature/<id>.toml
    circuits/<id>.toml   charts/<circuit id>.csv   (printed charts)
    photos/<sha256>.jpg (png …)   literature/files/<sha256>.pdf (jpg …)   history/<kind>-<id>.jsonl
    literature/index.csv   the literature as a table, for people; nothing is read from it

Whoever reads one verifies everything in it before anything is taken in.
"""

from setwright.files.casebook.history import HistoryEntry
from setwright.files.casebook.reading import Casebook, open_casebook
from setwright.files.casebook.shapes import CASEBOOK_FORMAT
from setwright.files.casebook.writing import CasebookWriter

__all__ = ["CASEBOOK_FORMAT", "Casebook", "CasebookWriter", "HistoryEntry", "open_casebook"]
