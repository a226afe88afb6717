"""`make bench`: everything that is measured, with the machine beside it; `ARGS=delivery`: that part alone."""

from __future__ import annotations

import sys

import django

import tests.environment  # noqa: F401 - says which settings before they are read

django.setup()

from django.conf import settings
from django.core.management import call_command
from django.test.utils import setup_databases

from tests.bench.delivery.printed import delivery
from tests.bench.enrolling import enrolled
from tests.bench.many_plans import among_many
from tests.bench.measuring import machine
from tests.bench.plans import compiled
from tests.bench.smooth.printed import smooth
from tests.bench.ticking import ticked
from tests.bench.verdicts import verdicts

settings.ALLOWED_HOSTS = ["testserver"]  # and not the whole test environment, which watches every template and slows it
setup_databases(verbosity=0, interactive=False)
print(machine())
PARTS = {
    "plans": compiled,
    "verdicts": verdicts,
    "smooth": smooth,
    "enrolling": enrolled,
    "ticking": ticked,
    "many_plans": among_many,
    "delivery": delivery,
}
for name in sys.argv[1:] or PARTS:
    if name not in PARTS:
        sys.exit(f"There is no part “{name}”; there are {', '.join(PARTS)}.")
    PARTS[name]()
    call_command("flush", interactive=False, verbosity=0)
