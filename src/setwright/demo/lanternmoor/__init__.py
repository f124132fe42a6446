"""The twenty-tube television: a set of a documented version with one altered part."""

from __future__ import annotations

from setwright.demo.plans import BenchPlan, FamilyPlan

PLAN = FamilyPlan(
    folder="lanternmoor",
    prefix="lm",
    survivors={"main": 12},
    without_serial=1,
    partial_serial=1,
    others={
        "audio-output": ("6F6G",),
        "sync-coupling": (".22 mfd",),
        "safety-glass": ("plastic sheet, screwed",),
        "tube-label": ("gone but for the tacks",),
    },
    benches=(
        BenchPlan(
            id="lanternmoor-bench",
            story=(
                "A Lanternmoor from an attic, chassis out. CAUTION: kilovolts at the picture tube and its supply stay",
                "after switching off. Discharge both, keep a hand behind the back, wear eye protection; local codes",
                "and a qualified technician's judgement come first.",
            ),
            line="main",
            open_to="underside",
            version="1250-A",
            looked_at=(
                "chassis-stamp",
                "safety-glass",
                "tuner-plate",
                "tube-label",
                "cabinet-finish",
                "high-voltage-cage",
                "audio-output",
                "second-rectifier",
                "vertical-cathode-resistor",
                "screen-dropper",
            ),
            altered={"sync-coupling": ".22 mfd"},
            unsure={"tube-label": "likely"},
            notes={
                "sync-coupling": "a film capacitor hung in below the stub of the old one",
                "second-rectifier": "socket and tube are there, both warm to the same degree",
            },
        ),
    ),
)
