"""Reads an exported CSV with Python's own csv module; types are given by the caller,
since CSV has none: {"name": "flag" | "whole" | "real" | "text"} as JSON."""

import csv
import json
import sys

from summary import Summary

READ = {"flag": int, "whole": int, "real": float, "text": str}

path, kinds = sys.argv[1], json.loads(sys.argv[2])
summary = Summary()
with open(path, newline="", encoding="utf-8") as file:
    for row in csv.DictReader(file, strict=True):
        for name, text in row.items():
            summary.add(name, None if text == "" else READ[kinds[name]](text))
summary.tell()
