"""The comparison with a rule library is fair: it says the same as our own rules, whatever is answered."""

from __future__ import annotations

import random
from dataclasses import replace

from followup.domain.answers import ANSWERS, Question
from followup.domain.observation import Observation
from followup.domain.rules import Rules
from tests.bench.verdicts import OBSERVATIONS, Library, expressible, facts_of, our_levels, whole_recovery


def test_the_library_gives_the_level_of_every_rule_for_any_answers():
    whole = whole_recovery()
    rules = expressible(whole)
    library, rng, met = Library(rules), random.Random(3), set()
    assert len(whole.observations) >= OBSERVATIONS
    assert any(seen.dose for seen in whole.observations)

    for _ in range(400):
        answers = {each: rng.choice(ANSWERS[each]) for each in rng.sample(list(Question), 12)}
        at = whole.case.surgery_ended_at + (whole.check_ins[-1].at - whole.case.surgery_ended_at) * rng.random() ** 2
        known = replace(whole, rules=Rules(answers=rules), observations=(Observation(at=at, answers=answers),))
        met |= set(our_levels(known))
        assert library.levels(facts_of(known)) == our_levels(known)
    assert len(met) > 0.9 * len(rules)
