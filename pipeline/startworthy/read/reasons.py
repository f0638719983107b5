"""Why a row or a cell of a log was refused. Sentences stand in words/, under `refused`."""

from __future__ import annotations

from enum import StrEnum


class RefusedReason(StrEnum):
    """Short and stable: these are the values of the column `reason` of refused.csv."""

    NOT_A_NUMBER = "not_a_number"
    SENTINEL = "sentinel"
    UNKNOWN_WORD = "unknown_word"
    OUT_OF_RANGE = "out_of_range"
    NO_TIME = "no_time"
    BAD_TIME = "bad_time"
    NO_SUCH_TIME = "no_such_time"
    NO_SET = "no_set"
    TOO_MANY_CELLS = "too_many_cells"
    REPEATED_HEADER = "repeated_header"
    NOT_A_ROW = "not_a_row"
    BAD_QUOTES = "bad_quotes"
    UNCLOSED_QUOTE = "unclosed_quote"
    UNKNOWN_SIGNAL = "unknown_signal"


Reason = RefusedReason
