"""An unsafe set-up is refused in a sentence; a safe one needs no setting at all."""

from __future__ import annotations

import stat

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db import connection
from django.test import override_settings

from clinic import checks, preparing
from clinic.environment import database, host_of
from clinic.keys import Keys, keep_keys, numbered, read_keys
from tests.command import manage, python

LONG = "k" * 40


def sentences(faults):
    return [fault.msg for fault in faults]


@pytest.mark.parametrize(
    ("version", "said"),
    [
        ((3, 34, 1), ["SQLite 3.34.1 is too old: 3.35 or newer is needed."]),
        ((3, 35, 0), []),
        ((3, 40, 1), []),
    ],
)
def test_an_old_sqlite_is_refused(version, said):
    assert sentences(checks.sqlite_faults("django.db.backends.sqlite3", version)) == said


def test_an_old_sqlite_matters_only_where_it_is_used():
    assert checks.sqlite_faults("django.db.backends.postgresql", (3, 1, 0)) == []


def test_several_processes_cannot_share_memory():
    with override_settings(WEB_CONCURRENCY=3, CELERY_BROKER_URL="memory://localhost/"):
        assert sentences(checks.one_process_in_memory()) == ["3 web processes cannot share an in-memory queue."]
    with override_settings(WEB_CONCURRENCY=3, CELERY_BROKER_URL="redis://localhost/0"):
        assert checks.one_process_in_memory() == []
    with override_settings(WEB_CONCURRENCY=1, CELERY_BROKER_URL="memory://localhost/"):
        assert checks.one_process_in_memory() == []


def test_debug_never_faces_the_public():
    with override_settings(DEBUG=True, ALLOWED_HOSTS=["localhost", "practice.example.org"]):
        assert sentences(checks.no_debug_in_public()) == [
            "DEBUG is on while others can reach this site as practice.example.org."
        ]
    with override_settings(DEBUG=True, ALLOWED_HOSTS=["localhost", "127.0.0.1"]):
        assert checks.no_debug_in_public() == []
    with override_settings(DEBUG=False, ALLOWED_HOSTS=["practice.example.org"]):
        assert checks.no_debug_in_public() == []


def test_a_test_run_never_faces_the_public():
    with override_settings(TESTING=True, ALLOWED_HOSTS=["localhost", "practice.example.org"]):
        assert sentences(checks.no_tests_in_public()) == [
            "TESTING is on while others can reach this site as practice.example.org."
        ]
    with override_settings(TESTING=True, ALLOWED_HOSTS=["localhost"]):
        assert checks.no_tests_in_public() == []
    with override_settings(TESTING=False, ALLOWED_HOSTS=["practice.example.org"]):
        assert checks.no_tests_in_public() == []


def test_keys_in_memory_are_not_enough_to_deploy():
    with override_settings(KEYS=Keys(secret=LONG, link={1: LONG}, kept=False)):
        assert len(checks.keys_are_kept()) == 1
    with override_settings(KEYS=Keys(secret=LONG, link={1: LONG}, kept=True)):
        assert checks.keys_are_kept() == []


def test_keys_once_kept_are_the_same_at_the_next_start(tmp_path):
    first = read_keys(tmp_path, secret="", link="")
    keep_keys(tmp_path, first, secret_given=False, link_given=False)
    second = read_keys(tmp_path, secret="", link="")

    assert (first.kept, second.kept) == (False, True)
    assert (second.secret, second.link) == (first.secret, first.link)
    assert {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()} == {0o600}


def test_keys_of_the_environment_are_not_written_down(tmp_path):
    keys = read_keys(tmp_path, secret=LONG, link=f"1:{LONG} 2:{LONG}")
    keep_keys(tmp_path, keys, secret_given=True, link_given=True)

    assert (keys.kept, keys.newest_link, list(tmp_path.iterdir())) == (True, 2, [])


def test_kept_keys_are_never_overwritten(tmp_path):
    keep_keys(tmp_path, Keys(LONG, {1: LONG}, kept=False), secret_given=False, link_given=False)
    keep_keys(tmp_path, Keys("x", {9: LONG}, kept=False), secret_given=False, link_given=False)

    assert read_keys(tmp_path, secret="", link="").secret == LONG


@pytest.mark.parametrize("text", ["", "1:short", "one:" + LONG, LONG])
def test_a_poor_link_key_is_refused(text):
    with pytest.raises(ImproperlyConfigured, match="LINK_KEYS must"):
        numbered(text)


@pytest.mark.parametrize("text", ["practice.example.org", "ftp://practice.example.org", "https://"])
def test_half_an_address_is_refused(text):
    with pytest.raises(ImproperlyConfigured, match="PUBLIC_URL must be a whole address"):
        host_of(text)


def test_sqlite_waits_and_keeps_what_it_took():
    options = database("sqlite:////tmp/x.sqlite3")["OPTIONS"]

    assert (options["timeout"], options["transaction_mode"]) == (20, "IMMEDIATE")
    assert "journal_mode=WAL" in options["init_command"]
    assert "synchronous=FULL" in options["init_command"]


@pytest.mark.django_db(transaction=True)
def test_the_database_of_the_tests_runs_as_in_a_practice():
    if connection.vendor != "sqlite":
        pytest.skip("SQLite's own settings")
    with connection.cursor() as cursor:
        found = [
            cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    assert found == ["wal", 2, 1]  # 2 is FULL


def test_postgresql_by_its_address():
    parsed = database("postgres://someone@localhost/followup")

    assert (parsed["ENGINE"], parsed["CONN_MAX_AGE"]) == ("django.db.backends.postgresql", 60)
    assert "transaction_mode" not in parsed.get("OPTIONS", {})


def test_the_data_folder_is_private(tmp_path):
    preparing.make_folder(tmp_path / "data")

    assert stat.S_IMODE((tmp_path / "data").stat().st_mode) == 0o700


def test_translations_are_compiled_without_gettext(tmp_path):
    folder = tmp_path / "pl" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "django.po").write_text(
        'msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8\\n"\n\nmsgid "on track"\nmsgstr "na dobrej drodze"\n'
    )
    preparing.compile_translations([tmp_path])

    assert (folder / "django.mo").stat().st_size > 0


def test_check_needs_no_setting_and_leaves_nothing_behind(tmp_path):
    result = manage("check", folder=tmp_path / "data")

    assert (result.returncode, result.stderr) == (0, "")
    assert not (tmp_path / "data").exists()


def test_a_set_up_for_the_public_is_clean(tmp_path):
    result = manage(
        "check",
        "--deploy",
        "--fail-level=WARNING",
        folder=tmp_path,
        PUBLIC_URL="https://practice.example.org",
        SECRET_KEY="0123456789abcdefghijklmnopqrstuvwxyz-0123456789-ABCDEFGH",
        LINK_KEYS=f"1:{LONG}",
    )

    assert result.returncode == 0, result.stderr


def test_gunicorn_is_refused_without_kept_keys(tmp_path):
    result = python("-c", "import clinic.wsgi", folder=tmp_path, DJANGO_SETTINGS_MODULE="clinic.settings")

    assert "No keys are kept yet: run `manage.py prepare` once" in result.stderr
