"""What every reader tells of a file: for each signal how many values it has, the first,
the last and their sum; of texts, which are no numbers, how many are unlike."""

import json
import sys


class Summary:
    def __init__(self):
        self.signals = {}
        self.unlike = {}

    def add(self, name, value):
        """Takes the value of a signal in the next tick; None for none."""
        if isinstance(value, bool):
            value = int(value)
        known = self.signals.setdefault(
            name, {"rows": 0, "count": 0, "first": None, "last": None, "sum": 0}
        )
        known["rows"] += 1
        if value is None:
            return
        if known["count"] == 0:
            known["first"] = value
        known["count"] += 1
        known["last"] = value
        if isinstance(value, str):
            unlike = self.unlike.setdefault(name, set())
            unlike.add(value)
            known["sum"] = len(unlike)
        else:
            known["sum"] += value

    def tell(self, **more):
        json.dump({"signals": self.signals, **more}, sys.stdout)
