"""What can be wrong with a circuit, and with solving one."""

from __future__ import annotations

from setwright.circuits.drawing import Fault


class UnsoundCircuit(ValueError):
    """The drawing cannot be computed; `faults` says what and where."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(fault.message for fault in faults))
        self.faults = faults


class NoConvergence(ArithmeticError):
    """No operating point was found. node : where it stays open. message : the likely reason, and what to look at."""

    def __init__(self, node: str, message: str) -> None:
        super().__init__(message)
        self.node = node
        self.message = message


class UnknownPoint(KeyError):
    """A reading at a point that the circuit does not have. message : what there is."""

    def __init__(self, point: str, message: str) -> None:
        super().__init__(message)
        self.point = point
        self.message = message

    def __str__(self) -> str:
        return self.message
