"""The five-tube line-connected table radio: a set of a documented version with one altered part."""

from __future__ import annotations

from setwright.demo.plans import BenchPlan, FamilyPlan, PlannedDate

PLAN = FamilyPlan(
    folder="thimble",
    prefix="th",
    survivors={"main": 18},
    without_serial=2,
    partial_serial=1,
    others={
        "first-audio": ("12SQ7 on an adapter",),
        "output-tube": ("35L6GT, socket changed",),
        "knobs": ("wood, home-made",),
        "isolating-capacitor": (".047 mfd", ".22 mfd"),
        "filter-capacitor": ("100 mfd",),
        "coupling-capacitor": (".022 mfd",),
        "cord-entry": ("two-wire cord through a grommet",),
    },
    benches=(
        BenchPlan(
            id="thimble-bench",
            story=(
                "A Thimble with its chassis out. CAUTION: line-connected. Unplug it, do not merely switch it off,",
                "before a hand goes in; power it only behind an isolation transformer, and only once it was judged",
                "safe to run. Local electrical codes and a qualified technician's judgement come first.",
            ),
            line="main",
            open_to="underside",
            version="53-A",
            looked_at=(
                "chassis-stamp",
                "cord-entry",
                "speaker-mounting",
                "dial-scale",
                "knobs",
                "cabinet-colour",
                "first-audio",
                "negative-return",
                "isolating-resistor",
            ),
            altered={"coupling-capacitor": ".01 mfd"},
            more_dates=(PlannedDate("speaker"), PlannedDate("filter-capacitor", years_later=7.0)),
            unsure={"speaker-mounting": "likely"},
            sources={"isolating-resistor": "brindlecote-7"},
            notes={
                "coupling-capacitor": "film capacitor, leads wrapped round the old stubs",
                "negative-return": "followed from the switch to the filter capacitor, nothing moved",
            },
        ),
    ),
)
