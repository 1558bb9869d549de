# Greensand. Two commands are enough: `make demo` and `make test`; `make help` lists the rest.

.DEFAULT_GOAL := help
.PHONY: help demo run test quick bench lint lock browser packages test-packages
# Prerequisites run in the order they are written.
.NOTPARALLEL:

PY := .venv/bin/python
LOCK := .venv/bin/uv pip compile --quiet --generate-hashes --no-emit-index-url --no-header \
	--universal --python-version 3.11 $(if $(UPGRADE),--upgrade)

# Without bytecode every start would compile the libraries again and take half a minute.
unexport PYTHONDONTWRITEBYTECODE
export PYTHON CHROMIUM

help: ## list the commands
	@sed -n 's/^\([a-z-]*\):.*## /  make \1\t/p' Makefile | expand -t 16

demo: packages ## run Greensand here with its demonstration; Ctrl-C stops it
	@$(PY) -m config.local up --demo

run: packages ## the same for a works of your own, empty at first
	@$(PY) -m config.local up

test: test-packages browser lint ## everything: style, types, units, worker and browser tests
	$(PY) -m pytest -n 2

quick: test-packages ## the tests that need neither worker, browser nor patience
	$(PY) -m pytest -n 2 -m "not slow and not worker and not browser"

bench: test-packages ## figures against their goals; ONLY=name for one, FULL=1 for the long ones
	@$(PY) -m bench $(if $(ONLY),--only "$(ONLY)") $(if $(FULL),--full)

lint: test-packages ## style, types and who imports whom
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy .
	.venv/bin/lint-imports

lock: test-packages ## write the locks anew from pyproject.toml; UPGRADE=1 takes newer versions
	$(LOCK) pyproject.toml -o requirements.lock
	$(LOCK) pyproject.toml --group test -c requirements.lock -o requirements-test.lock
	echo uv | $(LOCK) - -o requirements-uv.lock

browser:
	@.ci/chromium

packages: .venv/.packages
test-packages: .venv/.test-packages

# A stamp a lock: the second run has nothing to do.
.venv/.packages: requirements.lock requirements-uv.lock
	@.ci/venv
	@.ci/install requirements.lock
	@touch $@

.venv/.test-packages: requirements-test.lock requirements-uv.lock
	@.ci/venv
	@.ci/install requirements-test.lock
	@touch $@
