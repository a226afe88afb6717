"""Days of review, sign-off and keeping apart.

P: practice discharge sheets: wound looked at on day 3 and day 10, closing on day 14;
the day of surgery is day 0.
D: 42 days apart from entire females; P: conception recorded 36 days after castration.
"""

from __future__ import annotations

from tests.recoveries import clock, guinea_pig, plan_of


def test_surgery_on_the_tenth_of_march():
    plan = plan_of(guinea_pig())
    assert [(each.day, clock(each.at)) for each in plan.wound_reviews] == [
        (3, "03-13 12:00"),
        (10, "03-20 12:00"),
    ]
    assert clock(plan.sign_off_at) == "03-24 12:00"
    until = {each.what: clock(each.until) for each in plan.restrictions}
    assert until["kept_apart_from_entire_females"] == "04-21 12:00"
