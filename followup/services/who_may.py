"""Who may do what, asked again where the change is made: a page that hides a button proves nothing."""

from __future__ import annotations

from clinic.models import Membership, Role, Staff
from followup.domain.terms import FollowUpError


class NotYours(FollowUpError):
    """This step belongs to another role."""


def role_of(staff: Staff, practice_id: int) -> Role | None:
    """The role of a member of staff at one practice; None when he does not work there."""
    found = Membership.objects.of(staff).filter(practice_id=practice_id).first()
    return Role(found.role) if found is not None else None


def only(staff: Staff, practice_id: int, *roles: Role, step: str) -> Role:
    """The role with which `staff` may take this step. Raises NotYours, naming who may."""
    role = role_of(staff, practice_id)
    if role is None or role not in roles:
        who = " or ".join(f"{'an' if each.label[0] in 'aeiou' else 'a'} {each.label}" for each in roles)
        raise NotYours(f"{step}: only {who} may do this.")
    return role
