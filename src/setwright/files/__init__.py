"""The open file formats: family, set and survivors, read with all their problems in one answer, and written back.

`FileProblems` carries everything that is wrong with one file. `setwright.files.editing` changes files and keeps
the user's comments; `setwright.files.survivors.spreadsheet` makes cells harmless for a CSV file that goes out.
"""

from setwright.files.answers import answer_as_json
from setwright.files.dating_answers import date_answer_as_json
from setwright.files.families.reading import FamilyFile, read_family
from setwright.files.problems import FileProblems, Problem
from setwright.files.schema_files import schema
from setwright.files.sets import SetFile, read_set
from setwright.files.survivors.reading import read_survivors
from setwright.files.survivors.register import Register

__all__ = [
    "FamilyFile",
    "FileProblems",
    "Problem",
    "Register",
    "SetFile",
    "answer_as_json",
    "date_answer_as_json",
    "read_family",
    "read_set",
    "read_survivors",
    "schema",
]
