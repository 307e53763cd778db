"""What to do now and later, what to hold back, and the cautions that go with it.

Safe today: reversible actions that harm under no cause with a probability of .05 or more. What
cannot be undone (discard, plough in, spread) comes only when settled, or at once when somebody is
in danger. The day-one actions marked
`always` serve every case while it is open; once a cause is likely only those stay that some cause
still possible lists itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.kb.model import Action, Caution, Knowledge
from diagnose.reasoning.observations import Observations
from diagnose.reasoning.rank import Ranking
from diagnose.reasoning.verdict import Verdict

STAGES = ("plants", "material", "prevent")
SHARED_LEADER = 0.15
NOT_YET = "It cannot be undone: only once a test settles it."


@dataclass(frozen=True, slots=True)
class Advice:
    """Actions by stage: `today` is safe whatever it is; the rest belongs to the verdict.

    `withheld` names actions held back, each with the reason.
    """

    today: tuple[Action, ...]
    later: tuple[tuple[str, tuple[Action, ...]], ...]
    withheld: tuple[tuple[Action, str], ...]
    cautions: tuple[Caution, ...]


@dataclass(slots=True)
class _Choice:
    """Sorts actions into taken and withheld, never two that contradict each other."""

    kb: Knowledge
    live: list[str]
    settled: bool
    danger: bool
    taken: list[Action] = field(default_factory=list)
    withheld: dict[str, tuple[Action, str]] = field(default_factory=dict)

    def offer(
        self, action: Action, *, at_once: bool = False, for_next_time: bool = False
    ) -> Action | None:
        """The action when it may be advised, else None, remembering why not."""
        if action in self.taken or self._contradicts(action):
            return None
        harm = next((h for h in action.harms if h.cause in self.live), None)
        if not for_next_time and harm is not None:
            name = self.kb.causes[harm.cause].name
            reason = f"Held back: harmful if it is this after all: {name}. {harm.because}"
            self.withheld.setdefault(action.id, (action, reason))
            return None
        final = action.reversible or self.settled or (at_once and self.danger)
        if not for_next_time and not final:
            self.withheld.setdefault(action.id, (action, NOT_YET))
            return None
        self.taken.append(action)
        return action

    def _contradicts(self, action: Action) -> bool:
        return any(
            other.id in action.excludes or action.id in other.excludes for other in self.taken
        )


def advise(kb: Knowledge, seen: Observations, ranking: Ranking, verdict: Verdict) -> Advice:
    """What to do now and later, for a ranking and its verdict."""
    live = [c for c, p in ranking.leaders() if p >= ranking.book.settings.harm_floor]
    danger = bool(at_once(kb, seen))
    choice = _Choice(kb, live, verdict.state == "settled", danger)
    leaders = [c for c, p in ranking.leaders(4) if p >= SHARED_LEADER] or live[:1]
    if choice.settled:
        leaders = list(verdict.causes)
    now = [kb.actions[i] for c in leaders for i in kb.causes[c].actions.get("now", ())]
    always = [a for a in kb.actions.values() if a.always]
    if verdict.state in ("likely", "settled", "official_check"):
        listed = {i for c in live for ids in kb.causes[c].actions.values() for i in ids}
        wanted = [*now, *(a for a in always if a.id in listed)]
    else:
        wanted = [*always, *now]
    today = [a for a in wanted if choice.offer(a, at_once=True)]
    later = []
    for stage in STAGES:
        rows = [kb.actions[i] for c in leaders for i in kb.causes[c].actions.get(stage, ())]
        rows = [a for a in rows if choice.offer(a, for_next_time=stage == "prevent")]
        later.append((stage, tuple(rows)))
    shown = _cautions(kb, seen, choice.taken, leaders)
    return Advice(tuple(today), tuple(later), tuple(choice.withheld.values()), shown)


def _cautions(
    kb: Knowledge, seen: Observations, actions: list[Action], leaders: list[str]
) -> tuple[Caution, ...]:
    wanted = dict.fromkeys(c.id for c in at_once(kb, seen))
    for action in actions:
        wanted.update(dict.fromkeys(action.cautions))
    for cause in leaders:
        wanted.update(dict.fromkeys(kb.causes[cause].cautions))
    return tuple(kb.cautions[id_] for id_ in wanted if id_ in kb.cautions)


def at_once(kb: Knowledge, seen: Observations) -> list[Caution]:
    """Cautions whose condition holds now: shown before anything else."""
    return [
        c
        for c in kb.cautions.values()
        if c.show == "at_once" and c.when is not None and c.when.holds(seen.known) is True
    ]
