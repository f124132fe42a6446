"""Two people at once whose changes bring the same new words into the index, in another order.

In SQLite one transaction writes after another, so there is nothing to test there.
"""

from __future__ import annotations

import threading

import pytest
from django.db import connection, transaction

from setwright.workbench.records import keeping
from setwright.workbench.search import index
from setwright.workbench.search.models import SearchWord
from setwright.workbench.sets.models import SetRecord

LONG = 30.0


@pytest.mark.django_db(transaction=True)
def test_neither_waits_for_the_other(texts: dict[str, str]) -> None:
    for number in "12":
        family, kept = f"heron-{number}", keeping.create
        kept("family", texts["family"].replace('"heron-6"', f'"{family}"', 1), by=None, what="New", name="f.toml")
        for letter in "ab":
            text = (
                texts["set"].replace('"heron-6"', f'"{family}"', 1).replace('"bench-1"', f'"set-{letter}{number}"', 1)
            )
            kept("set", text, by=None, what="New", name="s.toml")
    both_have_written = threading.Barrier(2)
    problems: list[Exception] = []

    def work(number: str, words: tuple[str, str]) -> None:
        def add(letter: str, word: str) -> None:
            record = SetRecord.objects.select_related("family").get(key=f"set-{letter}{number}")
            more = f'\n[[note]]\ntext = "{word}"\n'
            keeping.edit(record, lambda file: file.text + more, by=None, what="Noted")

        try:
            with transaction.atomic(), index.later(many=False):
                add("a", words[0])
                both_have_written.wait(LONG)
                add("b", words[1])
        except Exception as problem:  # noqa: BLE001 (told below, in the thread that tests)
            problems.append(problem)
        finally:
            connection.close()

    pairs = {"1": ("zeta9", "alpha1"), "2": ("alpha1", "zeta9")}
    threads = [threading.Thread(target=work, args=item) for item in pairs.items()]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(LONG)
    assert problems == []
    assert set(SearchWord.objects.values_list("word", flat=True)) >= {"zeta9", "alpha1"}
