"""The JSON of a recovery case, a plan and a verdict, to and from domain values.

`read_case` and `case_json` · `read_observation` and `observation_json` · `plan_json` and
`read_plan` · `verdict_json` and `read_before`.
"""

from followup.casefile.case_in import CaseFile, read_case, read_case_file, read_text
from followup.casefile.case_out import case_json
from followup.casefile.contradictions import moment_to_judge, refuse_contradictions
from followup.casefile.explanation_json import read_before
from followup.casefile.observation_json import observation_json, read_observation
from followup.casefile.plan_in import compiled_from_json
from followup.casefile.plan_json import plan_json
from followup.casefile.refusals import BadCase
from followup.casefile.story import Moment, Story, read_story
from followup.casefile.verdict_json import rules_in, verdict_json

__all__ = [
    "BadCase",
    "CaseFile",
    "Moment",
    "Story",
    "case_json",
    "compiled_from_json",
    "moment_to_judge",
    "observation_json",
    "plan_json",
    "read_before",
    "read_case",
    "read_case_file",
    "read_observation",
    "read_story",
    "read_text",
    "refuse_contradictions",
    "rules_in",
    "verdict_json",
]
