"""Reads an exported VCD with pyvcd's tokenizer and holds every value until it changes."""

import sys

from vcd.reader import TokenKind, VarType, tokenize

from summary import Summary

names, kinds, scopes, now = {}, {}, [], {}
summary, timescale, comments = Summary(), None, []
time, recorded = None, None
TICK_MS = 10


def hold(until):
    """Every value, in every tick from the latest time up to this one."""
    if time is None or now[recorded] == 0:
        return
    assert (until - time) % TICK_MS == 0
    for _ in range((until - time) // TICK_MS):
        for code, value in now.items():
            if code != recorded:
                summary.add(names[code], value)


with open(sys.argv[1], "rb") as file:
    for token in tokenize(file):
        match token.kind:
            case TokenKind.TIMESCALE:
                timescale = f"{token.timescale.magnitude} {token.timescale.unit.value}"
            case TokenKind.COMMENT:
                comments.append(token.comment)
            case TokenKind.SCOPE:
                scopes.append(token.scope.ident)
            case TokenKind.UPSCOPE:
                scopes.pop()
            case TokenKind.VAR:
                name = ".".join(scopes[1:] + [token.var.reference])
                names[token.var.id_code] = name
                kinds[token.var.id_code] = token.var.type_
                if name == "recorded":
                    recorded = token.var.id_code
            case TokenKind.CHANGE_TIME:
                hold(token.time_change)
                time = token.time_change
            case TokenKind.CHANGE_SCALAR:
                now[token.scalar_change.id_code] = int(token.scalar_change.value)
            case TokenKind.CHANGE_VECTOR:
                change = token.vector_change
                unknown = isinstance(change.value, str)
                now[change.id_code] = None if unknown else change.value
            case TokenKind.CHANGE_REAL:
                now[token.real_change.id_code] = token.real_change.value
            case TokenKind.CHANGE_STRING:
                now[token.string_change.id_code] = token.string_change.value
assert now.keys() == names.keys(), "every signal has a value from the first time on"
summary.tell(
    timescale=timescale,
    end=time,
    comments=comments,
    types={names[code]: kind.value for code, kind in kinds.items()},
)
