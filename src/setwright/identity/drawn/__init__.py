"""Joint histories of a family and all known sets, drawn and weighed, where plain sums do not reach."""

from setwright.identity.drawn.joint import Joint, draw_joint

__all__ = ["Joint", "draw_joint"]
