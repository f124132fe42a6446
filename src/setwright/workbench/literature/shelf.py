"""The shelf as it was asked for: which documents, in which order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.db.models import F, Q, QuerySet

from setwright.files.literature import KINDS
from setwright.workbench.literature.models import LiteratureRecord

ORDERS = {
    "maker": ("Maker and model", (F("maker").asc(), F("model").asc(), F("title").asc(), F("key").asc())),
    "title": ("Title", (F("title").asc(), F("key").asc())),
    "year": ("Year", (F("year").asc(nulls_last=True), F("title").asc(), F("key").asc())),
    "newest": ("Changed last", (F("changed_at").desc(), F("key").asc())),
}
OWNED = {"": "all of them", "yes": "those I own", "no": "those I do not own", "scanned": "those with a scan"}
_OWNED_WHERE = {"yes": Q(owned=True), "no": Q(owned=False), "scanned": Q(scan_count__gt=0)}
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for; what makes no sense counts as not said."""

    maker: str = ""
    model: str = ""
    kind: str = ""
    owned: str = ""
    order: str = "maker"

    @property
    def is_narrowed(self) -> bool:
        """Whether some documents may be left out."""
        return replace(self, order="maker") != Asked()

    @property
    def query(self) -> str:
        """The same as the query of an address."""
        said = {name: getattr(self, name) for name in self.__slots__ if getattr(self, name) != getattr(Asked(), name)}
        return urlencode(said)


def asked_for(query: Mapping[str, str]) -> Asked:
    """From the query of an address."""
    kind, owned, order = query.get("kind", ""), query.get("owned", ""), query.get("order", "maker")
    return Asked(
        maker=query.get("maker", "").replace("\0", "").strip()[:LONGEST],
        model=query.get("model", "").replace("\0", "").strip()[:LONGEST],
        kind=kind if kind in KINDS else "",
        owned=owned if owned in OWNED else "",
        order=order if order in ORDERS else "maker",
    )


def documents(asked: Asked) -> QuerySet[LiteratureRecord]:
    """The documents asked for, without their texts."""
    records = LiteratureRecord.objects.defer("text")
    if asked.maker:
        records = records.filter(maker__iexact=asked.maker)
    if asked.model:
        records = records.filter(Q(model__icontains=asked.model) | Q(chassis__icontains=asked.model))
    if asked.kind:
        records = records.filter(kind=asked.kind)
    if asked.owned:
        records = records.filter(_OWNED_WHERE[asked.owned])
    return records.order_by(*ORDERS[asked.order][1])


def makers() -> list[str]:
    """The makers on the shelf."""
    names = LiteratureRecord.objects.exclude(maker="").order_by("maker").values_list("maker", flat=True)
    return list(names.distinct())
