"""The open file formats: family, set and survivors, read with all their problems in one answer, and written back."""

from setwright.files.family import FamilyFile, read_family
from setwright.files.problems import FileProblems, Problem
from setwright.files.register import Register
from setwright.files.sets import SetFile, read_set
from setwright.files.survivors import read_survivors

__all__ = [
    "FamilyFile",
    "FileProblems",
    "Problem",
    "Register",
    "SetFile",
    "read_family",
    "read_set",
    "read_survivors",
]
