"""The verdict on a case file: its plan compiled, its contradictions refused, its observations weighed."""

from __future__ import annotations

from followup.casefile import CaseFile, moment_to_judge, refuse_contradictions
from followup.domain.explaining import before_newest, explain
from followup.domain.explanation import Explanation
from followup.domain.plan import compile_plan
from followup.domain.protocol import Protocol
from followup.domain.recovery import Recovery
from followup.domain.triage import triage
from followup.domain.verdict import Verdict
from followup.protocols.load_formulary import formulary
from followup.vocabulary.load import vocabulary


def recovery_in(found: CaseFile, protocol: Protocol) -> Recovery:
    """The recovery that a case file tells of. Raises BadCase when the file contradicts itself."""
    compiled = compile_plan(found.case, protocol, formulary())
    refuse_contradictions(found, {medicine.drug for medicine in compiled.medication}, moment_to_judge(found))
    return Recovery.of(
        case=found.case,
        rules=protocol.rules,
        pinned=protocol.pinned,
        vocabulary=vocabulary(),
        check_ins=compiled.check_ins,
        medication=compiled.medication,
        observations=found.observations,
    )


def judge(found: CaseFile, protocol: Protocol) -> Verdict:
    """The verdict on a case file at its `now`. Raises BadCase."""
    return triage(recovery_in(found, protocol), moment_to_judge(found))


def judge_and_explain(found: CaseFile, protocol: Protocol) -> tuple[Verdict, Explanation]:
    """The same verdict with its reasons, compared with how it stood before the newest observation. Raises BadCase."""
    recovery = recovery_in(found, protocol)
    verdict = triage(recovery, moment_to_judge(found))
    return verdict, explain(recovery, verdict, before_newest(recovery, verdict.at))
