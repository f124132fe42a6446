"""Several people change one set at once, each in a thread of one process; prints what was acknowledged, as JSON.

Some add a remark to whatever stands there; others overwrite what they saw, and are told where it moved on; one changes
the set's family. Not a test by itself: test_several_people.py runs it, as often as it likes at once, on records of its
own.
"""

from __future__ import annotations

import json
import sys
import threading


def main(files: list[str], who: str, roles: list[str], times: int) -> None:
    from setwright.workbench import server

    server.prepare()
    if files:
        from setwright.workbench.services.imports import import_files

        import_files(files)
    from django.db import connections

    from setwright.workbench.records import keeping
    from setwright.workbench.records.errors import ChangedMeanwhile
    from setwright.workbench.sets.models import SetRecord

    kept: dict[str, list[str]] = {"adding": [], "overwriting": [], "family": []}
    told: list[str] = []
    lock = threading.Lock()

    def work(role: str) -> None:
        for time in range(times):
            remark = f"# {who} {role} {threading.get_ident()} {time}\n"
            record = SetRecord.objects.select_related("family").get(key="bench-1")
            try:
                if role == "overwriting":
                    keeping.keep(record, record.text + remark, by=None, what="Written", seen_revision=record.revision)
                else:
                    changed = record.family if role == "family" else record
                    keeping.edit(changed, lambda file, more=remark: file.text + more, by=None, what="Added")
            except ChangedMeanwhile:
                with lock:
                    told.append(remark)
                continue
            with lock:
                kept[role].append(remark)
        connections.close_all()

    threads = [threading.Thread(target=work, args=(role,)) for role in roles]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    record = SetRecord.objects.select_related("family").get(key="bench-1")
    texts = {"set": record.text, "family": record.family.text}
    print(json.dumps({"kept": kept, "told": told, "texts": texts, "revision": record.revision}))


if __name__ == "__main__":
    main(sys.argv[4:], sys.argv[1], sys.argv[2].split(), int(sys.argv[3]))
