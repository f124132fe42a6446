"""A set's date as its page says it, among the steps of the job."""

from __future__ import annotations

from django.conf import settings

from setwright.chronology import NothingDated
from setwright.workbench.dating.page import built_sentence, later_parts
from setwright.workbench.dating.words import span_words
from setwright.workbench.services.dating import date_of
from setwright.workbench.services.runs import StillRunning, Stopped
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.site.words import listing, percent


def date_sentences(record: SetRecord) -> tuple[tuple[str, ...], str]:
    """When the set was built and which parts are later, in sentences; and what is still needed, "" if nothing."""
    try:
        case = date_of(record, settings.PATIENCE_SECONDS)
    except StillRunning:
        return ("The date is being worked out; look again in a moment.",), ""
    except Stopped:
        return ("Dating was stopped.",), ""
    except NothingDated:
        return (), "A stamp, a date code or a document: nothing of this family has a date yet."
    date = case.answer.date
    sentences = [f"{built_sentence(case)[:-1]}; {percent(date.level)} range {span_words(date)}."]
    later = later_parts(case)
    if later:
        sentences.append(f"Probably later: {listing(name.lower() for name in later)}.")
    findings = len([found for found in case.answer.findings if found.kind in ("stamp", "document")])
    if findings:
        sentences.append("Something dated on it does not fit the rest.")
    return tuple(sentences), ""
