"""From a case and the unit's policy to a plan, its assurance, and the way on after a deviation."""

from vestry.sequence.assurance import Assurance, EndpointCounts, Link, Recovery, Route, StepFurther, Table
from vestry.sequence.assuring import assure, assure_order, order_of, program_of
from vestry.sequence.case import Case
from vestry.sequence.case_change import CaseChange, Inside
from vestry.sequence.changing import change
from vestry.sequence.comparing import compare
from vestry.sequence.comparison import Comparison
from vestry.sequence.errors import NoPlan
from vestry.sequence.exits import Practised
from vestry.sequence.explaining import explain
from vestry.sequence.explanation import Explanation
from vestry.sequence.plan import EnsembleItem, Member, Plan, PlanStep, Reason
from vestry.sequence.planner import plan_case, search_order
from vestry.sequence.policy import Policy
from vestry.sequence.recovering import Happened, matching, recover, recoveries
from vestry.sequence.requirements import Unmet, requirements_of
from vestry.sequence.saying import Said, say, say_step
from vestry.sequence.states import StepState, member_states, states
from vestry.sequence.subject import Subject, subject_of_order, subject_of_plan
from vestry.sequence.substituting import settled, substitute
from vestry.sequence.substitution import Substitution
from vestry.sequence.weighed import Weighing
from vestry.sequence.weighing import weigh

__all__ = [
    "Assurance",
    "Case",
    "CaseChange",
    "Comparison",
    "EndpointCounts",
    "EnsembleItem",
    "Explanation",
    "Happened",
    "Inside",
    "Link",
    "Member",
    "NoPlan",
    "Plan",
    "PlanStep",
    "Policy",
    "Practised",
    "Reason",
    "Recovery",
    "Route",
    "Said",
    "StepFurther",
    "StepState",
    "Subject",
    "Substitution",
    "Table",
    "Unmet",
    "Weighing",
    "assure",
    "assure_order",
    "change",
    "compare",
    "explain",
    "matching",
    "member_states",
    "order_of",
    "plan_case",
    "program_of",
    "recover",
    "recoveries",
    "requirements_of",
    "say",
    "say_step",
    "search_order",
    "settled",
    "states",
    "subject_of_order",
    "subject_of_plan",
    "substitute",
    "weigh",
]
