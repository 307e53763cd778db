"""The few sentences the reports are built from: short, plain, the standard term in brackets."""

from __future__ import annotations

from diagnose.kb.model import Knowledge
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict

CLINIC_SAMPLE = (
    "Take a sample to a plant clinic: two whole plants with roots, one hurt and one on the turn, "
    "and a sound one, each in its own bag, not wet, not frozen. Add the mix, labels, dates and "
    "photographs. Ask first what they want; rules differ by country."
)

OFFICIAL_SAMPLE = (
    "Move no plants and send no leaves. Ring the plant health office first and let them say how to "
    "sample; rules differ by country."
)

_STOPS = {
    "clear": "No further question would change much.",
    "nothing_more": "No question left would tell more.",
    "cap": "Enough questions for one sitting. A test tells more now.",
    "many_unknown": "Several answers in a row were unknown. Look, then go on.",
    "enough": "You said that is enough.",
}


def stop_text(reason: str) -> str:
    """Why the questions ended.

    >>> stop_text("enough")
    'You said that is enough.'
    """
    return _STOPS.get(reason, "")


def verdict_text(kb: Knowledge, ranking: Ranking, said: Verdict, then: str) -> str:
    """The verdict as one or two sentences, the answer first, then what to do next."""
    names = [kb.causes[c].name for c in said.causes]
    then = f" {then}" if then else ""
    if said.state == "settled":
        return f"Settled by a test: {names[0]}."
    if said.state == "likely":
        return f"Most likely, not proven: {names[0]}.{then}"
    if said.state == "official_check":
        return f"It looks like {names[0]}. This needs an official check before anything is said."
    if said.state == "kind_only":
        return f"Most likely, not proven: {kb.kinds[said.kind].text}{then}"
    if said.state == "two_fit":
        return f"Two causes fit: {names[0]}, or {names[1]}.{then}"
    if said.state == "nothing_fits":
        return "Nothing in this book fits well. Show it to a plant clinic."
    first = [kb.causes[c].name for c, p in ranking.leaders(3) if p >= 0.1]
    fits = f" These fit best: {'; '.join(first)}." if first else ""
    return f"Still open.{fits}{then}"


def today_title(state: str) -> str:
    """Heading of what to do today: while it is open it must serve whatever it is.

    >>> today_title("open"), today_title("likely")
    ('Today, whatever it is', 'Today')
    """
    sure = state in ("likely", "settled", "official_check")
    return "Today" if sure else "Today, whatever it is"


def strength(weight: float) -> str:
    """A weight in words: bits of evidence a reader can compare.

    >>> strength(2.5), strength(-1.2), strength(0.3)
    ('strong', 'clear', 'slight')
    """
    size = abs(weight)
    return "strong" if size >= 2.0 else "clear" if size >= 0.7 else "slight"


def days_text(days: list[float]) -> str:
    """How long a test takes.

    >>> days_text([14, 35]), days_text([0, 0]), days_text([1, 1])
    ('2 to 5 weeks', 'at once', '1 day')
    """
    low, high = days
    if high == 0:
        return "at once"
    if high > 14 and low >= 7:
        first, last, unit = round(low / 7), round(high / 7), "week"
    else:
        first, last, unit = round(low), round(high), "day"
    if first == last:
        return f"{last} {unit}{'' if last == 1 else 's'}"
    return f"{first} to {last} {unit}s"
