"""What messages say: one text a purpose, with named placeholders, short and plain. `{link}` is filled in last.

The strings are message ids; a service passes them through gettext before it fills them in. A text that has a `key` may
be replaced by a practice's own words (domain/own_words.py), its cautions never.

A text message carries no subject: `short` stands by itself, in one part wherever that leaves out nothing that matters.
Texts with a dose or advice take two: neither the amount nor the caution is cut.
"""

from __future__ import annotations

from dataclasses import dataclass

LINK = "{link}"


@dataclass(frozen=True)
class Text:
    """One message, before it is translated and filled in or after. `caution` stands below the body.

    `short` and `short_caution` are the same as a text message; no `short`: the body is sent. After filling in, the
    cautions are part of body and short.
    """

    subject: str
    body: str
    caution: str = ""
    short: str = ""
    short_caution: str = ""
    key: str = ""
    name: str = ""
    """What staff call it; for a text with a key."""


WORRIED = "Worried? Do not wait for us, phone {phone}."
SHORT_WORRIED = "Worried? Phone {phone}"
BEFORE_MEDICINE = (
    "Not eating, or anything odd? Phone {phone} before you give the medicine. Never give a double dose. "
    "This does not replace your vet."
)
SHORT_BEFORE_MEDICINE = (
    "Not eating or odd? First phone {phone}. Never give a double dose. This does not replace your vet."
)

WELCOME = Text(
    subject="{practice}: looking after {patients}",
    body="{patients} is on the way home. We will ask how it goes, starting {first}. Keep this link: {link}",
    caution="If no message comes, look at {patients} anyway. Worried? Do not wait for us, phone {phone}. "
    "When we are closed, phone {provider_phone}. This does not replace a vet.",
    short="{practice}: we will ask how {patients} is. Keep this link: {link}",
    short_caution="Worried? Phone {phone}. When we are closed: {provider_phone}",
    key="welcome",
    name="First message",
)
CHECK_IN = Text(
    subject="How is {patients}?",
    body="How is {patients}? Please look now and tell us here, it takes two minutes: {link}",
    caution=WORRIED,
    short="{practice}: how is {patients}? {link}",
    short_caution=SHORT_WORRIED,
    key="check_in",
    name="Check-in",
)
DOSE = Text(
    subject="Medicine for {patients}",
    body="Time for medicine for {patients}: {doses}. Tell us here when it is done: {link}",
    caution=BEFORE_MEDICINE,
    short="Medicine for {patients}: {doses}. {link}",
    short_caution=SHORT_BEFORE_MEDICINE,
    key="dose",
    name="Medicine",
)
CHECK_IN_AND_DOSE = Text(
    subject="How is {patients}? And medicine",
    body="Time for medicine: {doses}. And please look at {patients} and tell us here: {link}",
    caution=BEFORE_MEDICINE,
    short="How is {patients}? And medicine: {doses}. {link}",
    short_caution=SHORT_BEFORE_MEDICINE,
    key="check_in_and_dose",
    name="Check-in and medicine",
)
CHECK_IN_OF_SEVERAL = Text(
    subject="How are {patients}?",
    body="How are {patients}? Please look at each of them now and tell us here, one after the other: {link}",
    caution=WORRIED,
    short="How are {patients}? {link}",
    short_caution=SHORT_WORRIED,
    key="check_in_of_several",
    name="Check-in of several animals",
)
CHECK_IN_AND_DOSE_OF_SEVERAL = Text(
    subject="How are {patients}? And medicine",
    body="Time for medicine: {doses}. And please look at {patients} and tell us here, one after the other: {link}",
    caution=BEFORE_MEDICINE,
    short="How are {patients}? And medicine: {doses}. {link}",
    short_caution=SHORT_BEFORE_MEDICINE,
    key="check_in_and_dose_of_several",
    name="Check-in of several animals, and medicine",
)
HELD_DOSE = Text(
    subject="Please phone before the next medicine for {patients}",
    body="Phone us before this dose: {doses}. The number is {phone}. If nobody has answered by {until}, phone "
    "{provider_phone}. {link}",
    caution="{patients} should not go without pain relief overnight. A dried out animal should not get it. "
    "A vet decides. This does not replace your vet.",
    short="{patients}: phone us before this dose: {doses}. {phone}. No answer by {until}? Phone {provider_phone}. "
    "{link}",
    short_caution="A vet decides about it.",
    key="held_dose",
    name="Phone before the next medicine",
)
REVISED = Text(
    subject="{practice}: the plan of {patients} has changed",
    body="The plan of {patients} has changed. {changes} The sheet on paper is no longer right: look here. {link}",
    caution="Questions, or worried? Phone {phone}. When we are closed, phone {provider_phone}. "
    "This does not replace a vet.",
    short="New plan for {patients}. {changes} {link}",
    short_caution="Worried? Phone {phone}. This does not replace a vet.",
    key="revised",
    name="The plan has changed",
)
REMINDER = Text(
    subject="Has {patients} eaten?",
    body="We have not heard how {patients} is. Two taps are enough: has {patients} eaten, are there droppings? {link}",
    caution="Worried? Phone {phone}.",
    short="Did {patients} eat? Are there droppings? Tap: {link}",
    short_caution=SHORT_WORRIED,
    key="reminder",
    name="Reminder",
)
REMINDER_OF_SEVERAL = Text(
    subject="Have {patients} eaten?",
    body="We have not heard how {patients} are. Two taps for each are enough: what was eaten, are there droppings? "
    "{link}",
    caution="Worried? Phone {phone}.",
    short="Did {patients} eat? Tap here: {link}",
    short_caution=SHORT_WORRIED,
    key="reminder_of_several",
    name="Reminder about several animals",
)
ADVICE = Text(
    subject="{patients}: {heading}",
    body="About {patients}. {heading}: {phone} ({phone_name}). {action} {what_happened} {link}",
    caution="{disclaimer}",
    short="{patients}: {heading}, {phone}. {action} {link}",
    short_caution="This does not replace your vet.",
    key="advice",
    name="Advice",
)
SECOND_CARER = Text(
    subject="{patients}: we cannot reach {carer}",
    body="We have not heard from {carer}. Please look at {patients} now, or ring {carer}, and tell us here: {link}",
    caution="{heading}: {phone} ({phone_name}). {action}\n\n{disclaimer}",
    short="No word from {carer}. Please look at {patients} now and tell us: {link}",
    short_caution="{heading}: {phone}. This does not replace your vet.",
    key="second_carer",
    name="To a second carer, when the first is silent",
)
REACHED_A_VET = Text(
    subject="Did you reach a vet for {patients}?",
    body="In the night nobody here could see what you told us. Did you reach a vet for {patients}? "
    "Please tell us: {link}",
    caution="No vet yet? Do not wait: phone {phone}. When we are closed, phone {provider_phone}. "
    "This does not replace a vet.",
    short="Did you reach a vet for {patients}? {link}",
    short_caution="No? Phone {phone}. When we are closed: {provider_phone}",
    key="reached_a_vet",
    name="After a night without anybody on call",
)
WOUND_AS_EXPECTED = Text(
    subject="{practice}: the wound of {patients}",
    body="{vet} has looked at the wound of {patients}. It looks as expected on day {day}. {link}",
    caution="A photo does not show all. Red, wet, smelly or swollen? Phone {phone}. When we are closed, phone "
    "{provider_phone}.",
    short="{patients}: the wound looks as expected. {link}",
    short_caution="Worried? Phone {phone}",
    key="wound_as_expected",
    name="The wound looks as expected",
)
NEW_LINK = Text(
    subject="{practice}: a new link for {patients}",
    body="The old link to the page of {patients} is closed. This is the new one: {link}",
    caution=WORRIED,
    short="{practice}: a new link for {patients}: {link}",
    short_caution=SHORT_WORRIED,
    key="new_link",
    name="A new link",
)
APART_SOON = Text(
    subject="{patients}: two more weeks apart",
    body="{patients} stays apart from females that are not spayed for two more weeks. Until then a male can still be "
    "a father. {link}",
    caution="Questions? Phone {phone}.",
    short="{patients}: two more weeks apart from unspayed females. {link}",
    short_caution="Phone {phone}",
    key="apart_soon",
    name="Two more weeks apart",
)
APART_OVER = Text(
    subject="{patients} may be with females again",
    body="From today {patients} may be with females that are not spayed. Did your vet say otherwise? Then that "
    "counts. Let them meet slowly. {link}",
    caution="Questions? Phone {phone}.",
    short="{patients} may be with females again if your vet agrees. {link}",
    short_caution="Phone {phone}",
    key="apart_over",
    name="No longer apart",
)
DAY_30 = Text(
    subject="How did it turn out for {patients}?",
    body="It is 30 days since the operation. Is all well with {patients}? One tap tells us: {link}",
    caution="A wound that is red, wet, smelly or swollen even now? Phone {phone}.",
    short="30 days on: is {patients} well? {link}",
    short_caution="Wound red, wet, swollen? Phone {phone}",
    key="day_30",
    name="Day 30",
)
GOODBYE = Text(
    subject="{patients}: the follow-up is over",
    body="{practice} has closed the follow-up of {patients}. Thank you for looking so closely. {link}",
    caution="Until day 30, phone {phone} if the wound gets red, wet, smelly or swollen. "
    "Phone too if {patients} eats less.",
    short="The follow-up of {patients} is over. Thank you. {link}",
    short_caution="To day 30, phone {phone} if the wound gets red, wet, smelly or swollen, or if {patients} eats less.",
    key="goodbye",
    name="The follow-up is over",
)
ALERT = Text(
    subject="EMERGENCY {patient}, {species}, day {day}",
    body="{patient} ({species}, day {day} after {procedure}): {because}. Owner: {owner}, {phone}. "
    "The owner was told: {told}. Say that you have it: {link}",
    short="EMERGENCY {patient}, {species}, day {day}: {because}. Owner {phone}. Say that you have it: {link}",
)
URGENT_ALERT = Text(
    subject="URGENT {patient}, {species}, day {day}: speak to the owner by {by}",
    body="{patient} ({species}, day {day} after {procedure}): {because}. Nobody has taken it yet. "
    "Speak to {owner} by {by}: {phone}. The owner was told: {told}. Say that you have it: {link}",
    short="URGENT {patient}, {species}, day {day}: {because}. Speak to the owner by {by}: {phone}. "
    "Say that you have it: {link}",
)

TO_OWNERS = (
    WELCOME,
    CHECK_IN,
    CHECK_IN_OF_SEVERAL,
    DOSE,
    CHECK_IN_AND_DOSE,
    CHECK_IN_AND_DOSE_OF_SEVERAL,
    HELD_DOSE,
    REMINDER,
    REMINDER_OF_SEVERAL,
    ADVICE,
    SECOND_CARER,
    REACHED_A_VET,
    REVISED,
    WOUND_AS_EXPECTED,
    NEW_LINK,
    APART_SOON,
    APART_OVER,
    DAY_30,
    GOODBYE,
)
"""Every text that an owner can get, in the order in which staff read them."""
BY_KEY = {text.key: text for text in TO_OWNERS}
