"""What a table of survivors proposes: features and their states, from columns that are no features yet."""

from setwright.files.learning.proposals import (
    DEFAULT_ACCESS,
    DEFAULT_PERMANENCE,
    Learning,
    LearntFeature,
    feature_table,
    learn_features,
)

__all__ = [
    "DEFAULT_ACCESS",
    "DEFAULT_PERMANENCE",
    "Learning",
    "LearntFeature",
    "feature_table",
    "learn_features",
]
