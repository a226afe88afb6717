"""What messages say: one text a purpose, with named placeholders, short and plain. `{link}` is filled in last.

The strings are message ids; a service passes them through gettext before it fills them in.
"""

from __future__ import annotations

from dataclasses import dataclass

LINK = "{link}"


@dataclass(frozen=True)
class Text:
    """One message before it is translated or filled in."""

    subject: str
    body: str


WELCOME = Text(
    "{practice}: looking after {patients}",
    "{patients} is on the way home. We will ask how it goes, starting {first}. Keep this link: {link}\n\n"
    "If no message comes, look at {patients} anyway. Worried? Do not wait for us, phone {phone}. "
    "Outside opening hours: {provider_phone}. This does not replace a vet.",
)
CHECK_IN = Text(
    "How is {patients}?",
    "How is {patients}? Please look now and tell us here, it takes two minutes: {link}\n\n"
    "Worried? Do not wait for us, phone {phone}.",
)
DOSE = Text(
    "Medicine for {patients}",
    "Time for medicine: {doses}. Tell us here when it is done: {link}\n\n"
    "Not eating, or anything odd? Phone {phone} before you give it. Never give a double dose.",
)
CHECK_IN_AND_DOSE = Text(
    "How is {patients}? And medicine",
    "Time for medicine: {doses}. And please look at {patients} and tell us here: {link}\n\n"
    "Not eating, or anything odd? Phone {phone} before you give the medicine. Never give a double dose.",
)
CHECK_IN_OF_SEVERAL = Text(
    "How are {patients}?",
    "How are {patients}? Please look at each of them now and tell us here, one after the other: {link}\n\n"
    "Worried? Do not wait for us, phone {phone}.",
)
CHECK_IN_AND_DOSE_OF_SEVERAL = Text(
    "How are {patients}? And medicine",
    "Time for medicine: {doses}. And please look at {patients} and tell us here, one after the other: {link}\n\n"
    "Not eating, or anything odd? Phone {phone} before you give the medicine. Never give a double dose.",
)
HELD_DOSE = Text(
    "Please phone before the next medicine for {patients}",
    "Phone us before this dose: {doses}. The number is {phone}. If nobody has answered by {until}, phone "
    "{provider_phone}. {patients} should not go without pain relief overnight, and should not get it if dried out: "
    "a vet decides. {link}",
)
REVISED = Text(
    "{practice}: the plan of {patients} has changed",
    "The plan of {patients} has changed. {changes} The sheet on paper is no longer right: look here. {link}\n\n"
    "Questions, or worried? Phone {phone}; outside opening hours {provider_phone}. This does not replace a vet.",
)
REMINDER = Text(
    "Has {patients} eaten?",
    "We have not heard how {patients} is. Two taps are enough: has {patients} eaten, are there droppings? {link}\n\n"
    "Worried? Phone {phone}.",
)
REMINDER_OF_SEVERAL = Text(
    "Have {patients} eaten?",
    "We have not heard how {patients} are. Two taps for each are enough: what was eaten, are there droppings? {link}"
    "\n\nWorried? Phone {phone}.",
)
ADVICE = Text(
    "{patients}: {heading}",
    "{heading}: {phone} ({phone_name}). {action} {what_happened} {link}\n\n{disclaimer}",
)
APART_SOON = Text(
    "{patients}: two more weeks apart",
    "{patients} stays apart from females that are not spayed for two more weeks: until then a male can still be a "
    "father. Questions? Phone {phone}. {link}",
)
APART_OVER = Text(
    "{patients} may be with females again",
    "From today {patients} may be with females that are not spayed, unless your vet said otherwise. Let them meet "
    "slowly. Questions? Phone {phone}. {link}",
)
DAY_30 = Text(
    "How did it turn out for {patients}?",
    "It is 30 days since the operation. Is all well with {patients}? One tap tells us: {link}\n\n"
    "A wound that is red, wet, smelly or swollen even now? Phone {phone}.",
)
GOODBYE = Text(
    "{patients}: the follow-up is over",
    "{practice} has closed the follow-up of {patients}. Until day 30, phone {phone} if the wound gets red, wet, "
    "smelly or swollen, or if {patients} eats less. Thank you for looking so closely. {link}",
)
ALERT = Text(
    "EMERGENCY {patient}, {species}, day {day}",
    "{patient} ({species}, day {day} after {procedure}): {because}. Owner: {owner}, {phone}. "
    "The owner was told: {told}. Say that you have it: {link}",
)
