"""The parts of the supervisor: doors, leftovers, ports, environment."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from config.local import account, environment, folders, ports, processes
from config.local.errors import NoFolder, OtherVersion
from config.local.folders import Folders
from config.local.postgres import Postgres, home_for
from config.local.temporary import TemporaryServices, remove_leftovers


@pytest.fixture
def postgres() -> Iterator[Postgres]:
    """A server of the test's own, made but not started."""
    made = TemporaryServices()
    made.postgres.create()
    yield made.postgres
    made.stop()


def stop(server: Postgres, child: subprocess.Popen[bytes]) -> None:
    server.stop(child)
    assert processes.look_up(child.pid) is None


def test_postgresql_lets_in_by_the_systems_account_and_no_other_name(postgres: Postgres) -> None:
    child = postgres.start_ready()
    doors = (postgres.data / "pg_hba.conf").read_text()
    assert doors == "local all all peer map=works\n"
    with psycopg.connect(postgres.url()) as link:
        answer = link.execute("SELECT current_user, inet_server_addr()").fetchone()
    assert answer == ("greensand", None)
    names = (postgres.data / "pg_ident.conf").read_text().splitlines()
    assert len(names) == len({account.own().name, postgres.account.name})
    # Without the line that names this account the same login is refused.
    (postgres.data / "pg_ident.conf").write_text('works "somebody-else" all\n')
    child.send_signal(signal.SIGHUP)
    deadline = time.monotonic() + 10
    with pytest.raises(psycopg.OperationalError, match="Peer authentication failed"):
        while time.monotonic() < deadline:
            psycopg.connect(postgres.url()).close()
    stop(postgres, child)


def test_a_recycled_process_number_does_not_keep_postgresql_down(postgres: Postgres) -> None:
    (postgres.data / "postmaster.pid").write_text(f"{os.getpid()}\n{postgres.data}\n")
    began = time.monotonic()
    stop(postgres, postgres.start_ready())
    assert time.monotonic() - began < 10
    assert processes.look_up(os.getpid()) is not None


def test_a_dead_server_that_nobody_collected_does_not_keep_the_next_down(
    postgres: Postgres,
) -> None:
    child = postgres.start_ready()
    os.kill(child.pid, signal.SIGKILL)
    assert processes.wait_until(lambda: processes.has_ended(child), seconds=5)
    found = processes.look_up(child.pid)
    assert found is not None
    assert found.is_zombie
    stop(postgres, postgres.start_ready())
    child.wait()


def test_an_orphaned_server_is_stopped_before_the_next_starts(postgres: Postgres) -> None:
    orphan = postgres.start_ready()
    stop(postgres, postgres.start_ready())
    assert orphan.wait(5) == 0


def test_data_of_another_major_version_are_left_alone(postgres: Postgres) -> None:
    (postgres.data / "PG_VERSION").write_text("15\n")
    with pytest.raises(OtherVersion, match="PostgreSQL 15, the installed one is 18"):
        postgres.create()


def test_a_half_made_data_folder_is_made_anew(postgres: Postgres) -> None:
    postgres.data.rename(postgres.home / "data.new")
    (postgres.home / "data.new" / "PG_VERSION").unlink()
    postgres.create()
    stop(postgres, postgres.start_ready())


def test_an_account_reaches_a_folder_when_every_folder_above_lets_it_through() -> None:
    outer = Path(tempfile.mkdtemp())
    inner = outer / "inner"
    inner.mkdir(mode=0o755)
    stranger = account.Account("stranger", 54_321, 54_321)
    outer.chmod(0o700)
    assert account.own().reaches(inner)
    assert not stranger.reaches(inner)
    outer.chmod(0o711)
    assert stranger.reaches(inner)
    assert stranger.reaches(inner / "not yet made")
    shutil.rmtree(outer)


def test_a_closed_folder_sends_the_database_outside_only_when_another_account_needs_it(
    tmp_path: Path,
) -> None:
    var = tmp_path / "root" / "var"
    var.mkdir(parents=True)
    var.parent.chmod(0o700)
    other_account = account.for_postgres().uid != os.geteuid()
    assert home_for(var) == (folders.outside(var) if other_account else var / "postgresql")


def test_a_child_dies_with_its_parent(tmp_path: Path) -> None:
    said = tmp_path / "said"
    program = (
        "import os, sys, time; from pathlib import Path; from config.local import processes\n"
        "child = processes.start([sys.executable, '-c', 'import time; time.sleep(60)'],"
        " log=None, cwd=Path('/'), env={})\n"
        "Path(sys.argv[1]).write_text(str(child.pid)); time.sleep(60)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", program, str(said)], cwd=folders.PROJECT)
    assert processes.wait_until(lambda: said.exists() and bool(said.read_text()), seconds=20)
    child = int(said.read_text())
    assert processes.look_up(child) is not None
    parent.kill()
    parent.wait()

    def has_ended() -> bool:
        found = processes.look_up(child)
        return found is None or found.is_zombie

    assert processes.wait_until(has_ended, seconds=5)


def test_traces_find_a_killed_leaders_children_but_no_recycled_number(tmp_path: Path) -> None:
    log = tmp_path / "log"
    child = processes.start(
        [sys.executable, "-c", "import os, time; os.fork(); time.sleep(60)"],
        log=log,
        cwd=tmp_path,
        env={},
    )
    found = processes.trace("leader", child)
    assert found is not None
    assert processes.wait_until(lambda: len(found.remains()) == 2, seconds=10)
    child.kill()
    child.wait()
    assert len(found.remains()) == 1
    someone_else = processes.Trace("leader", os.getpid(), found.started, found.boot)
    assert someone_else.remains() == []
    assert processes.Trace("leader", child.pid, found.started, "an earlier boot").remains() == []
    processes.clear([found, someone_else], patience=0.2)
    assert found.remains() == []


def test_the_next_free_port_is_taken_while_it_is_held() -> None:
    with ports.bind_next_free() as first, ports.bind_next_free() as second:
        assert second.getsockname()[1] > first.getsockname()[1]
        with socket.create_connection(first.getsockname(), timeout=2):
            pass  # an early caller queues instead of being refused


def test_the_environment_survives_being_written_and_is_private(tmp_path: Path) -> None:
    path = tmp_path / "environment"
    values = {"DATABASE_URL": "postgresql://greensand@/greensand?host=%2Ftmp", "DEBUG": "0"}
    environment.write(path, values)
    assert environment.read(path) == values
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_secret_is_made_once(tmp_path: Path) -> None:
    where = Folders(tmp_path / "var")
    first = environment.secret(where)
    assert len(first) > 50
    assert environment.secret(where) == first


def test_a_command_by_hand_is_told_when_nothing_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = Folders(tmp_path / "var")
    monkeypatch.delenv("DATABASE_URL")
    monkeypatch.delenv("SECRET_KEY")
    told = environment.adopt(where)
    assert told is not None
    assert "make demo" in told
    assert os.environ["SECRET_KEY"] == environment.secret(where)
    monkeypatch.setenv("DATABASE_URL", "postgresql://db/greensand")
    assert environment.adopt(where) is None


def test_a_data_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    with pytest.raises(NoFolder, match="GREENSAND_VAR"):
        Folders(blocked / "var").make()


def test_a_socket_folder_leaves_room_for_the_sockets_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", "/tmp/" + "long" * 20)
    made = folders.fresh_socket_folder()
    assert len(f"{made}/pg/.s.PGSQL.5432") <= folders.LONGEST_SOCKET_PATH
    made.rmdir()


def test_the_folder_of_a_killed_owner_is_removed_and_a_live_ones_kept() -> None:
    program = (
        "import time; from config.local.temporary import TemporaryServices;"
        "s = TemporaryServices(); print(s.folder, flush=True); time.sleep(60)"
    )
    owner = subprocess.Popen(
        [sys.executable, "-c", program], cwd=folders.PROJECT, stdout=subprocess.PIPE, text=True
    )
    assert owner.stdout is not None
    with owner, owner.stdout:
        folder = Path(owner.stdout.readline().strip())
        remove_leftovers()
        assert folder.exists()
        owner.kill()
        owner.wait()
        remove_leftovers()
        assert not folder.exists()
