"""The environment of a test run: keys, and a data folder that goes away. A pytest plugin (`-p`)."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
import zoneinfo

FOLDER = tempfile.mkdtemp(prefix="tests-")
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)

for name in ("DATABASE_URL", "REDIS_URL", "EMAIL_URL", "SMS_URL", "PUBLIC_URL", "DEMO", "DEBUG"):
    os.environ.pop(name, None)  # a developer's own settings are not the tests'
os.environ.update(
    DJANGO_SETTINGS_MODULE="clinic.settings",
    TESTING="yes",
    DATA_DIR=FOLDER,
    SECRET_KEY="the tests' own key, which signs nothing that anybody would want to forge",
    LINK_KEYS="1:the-tests-own-key-of-owner-links-number-one",
)
# Clock changes of our own tzdata package, so that an old system's do not decide what a test finds.
os.environ["PYTHONTZPATH"] = ""
zoneinfo.reset_tzpath()
