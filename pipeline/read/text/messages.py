"""A pasted list of messages as rows: day, time, sender and text of each."""

from __future__ import annotations

import re

import polars as pl

from pipeline.common.faults import FaultKind
from pipeline.read.text.ragged import Rows, frame_of

SENT_AT = "sent at"
HEADERS = ("date", SENT_AT, "by", "message")
"""Names of the columns that a list of messages is read into."""
_STAMP = re.compile(
    r"[\u200e\u200f]?\[?(?P<date>\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}),?\s+(?P<time>\d{1,2}[:.]\d\d(?:[:.]\d\d)?(?:\s?[ap]\.?m\.?)?)"
    r"(?:\]|\s+[-–]|:)?\s+(?P<rest>\S.*)",
    re.IGNORECASE,
)
_SENDER = re.compile(r"(?P<by>[^:]{1,60}):\s+(?P<message>\S.*)")
_FEWEST = 2
_MOSTLY = 0.5

NO_MESSAGES = FaultKind(
    "read.messages",
    "no list of messages",
    "The profile says that the file is a list of messages, and line {place} does not begin one: {value}",
    "Every message begins with its day, its time and its sender: 12/03/2026, 08:14 - Sam: scarified. Take messages out "
    "of [reading] of the profile if the file is a table.",
)


def is_message_list(data: bytes) -> bool:
    """Whether a text is a list of messages: it begins with one, and most of its lines do."""
    lines = [line for line in data[:1_000_000].decode("utf-8", "ignore").split("\n") if line.strip()]
    stamped = [bool(_sent(line)) for line in lines]
    return len(lines) >= _FEWEST and stamped[0] and sum(stamped) >= max(_FEWEST, _MOSTLY * len(lines))


def messages_of(data: bytes) -> Rows | pl.DataFrame:
    """The messages of a text, a row each, or the fault of a text that begins with none.

    A line that begins no message belongs to the one above. What the service itself writes has no sender.
    """
    numbers: list[int] = []
    rows: list[list[str]] = []
    for number, line in enumerate(data.decode("utf-8").split("\n"), 1):
        if not line.strip():
            continue
        if message := _sent(line):
            numbers.append(number)
            rows.append(message)
        elif rows:
            rows[-1][-1] += f"\n{line}"
        else:
            return NO_MESSAGES.at(None, line[:200], place=number)
    return Rows(frame_of(numbers, rows, len(HEADERS)), broken=True)


def _sent(line: str) -> list[str] | None:
    """Day, time, sender and text of the message that a line begins; None where it begins none."""
    stamp = _STAMP.fullmatch(line.strip())
    if stamp is None:
        return None
    sender = _SENDER.fullmatch(stamp["rest"])
    by, text = (sender["by"], sender["message"]) if sender else ("", stamp["rest"])
    return [stamp["date"], stamp["time"], by.strip(), text]
