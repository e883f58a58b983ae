# Creasemark's commands. The first two are all a fresh machine needs; both may be repeated.
#   make demo    set up, load the demonstration school, serve it on 127.0.0.1 (PORT=8000)
#   make test    set up, then run every test
#   make audit   whether a fault is known in a dependency
#   make check   formatting, lint, types and missing migrations; says nothing when all is well
#   make serve | worker | beat    the three processes of a production site (see README)
#   make lock    pin the dependencies of pyproject.toml anew

.DELETE_ON_ERROR:
.PHONY: demo test test-sqlite test-postgresql check audit serve worker beat site lock clean

PYTHON ?= $(firstword $(shell command -v python3.11) $(shell command -v python3))
BIN := .venv/bin
RUN := $(BIN)/python
PORT ?= 8000
HOST ?= 127.0.0.1
WORKERS ?= 2
THREADS ?= 4
POSTGRESQL ?= postgres://postgres@127.0.0.1:5432

# What one process has compiled the next need not: a run of the tests starts some hundred.
unexport PYTHONDONTWRITEBYTECODE

# $(call debian,package,what for): install a package of Debian's when root, else say what to install.
debian = if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	echo "Installing $(1), $(2)"; \
	apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $(1) >/dev/null; \
	else echo "Please install $(1), $(2): sudo apt install $(1)" >&2; false; fi

# --- set-up: each stamp is made once, and anew when its lock file changes ------------------------------
$(RUN):
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' || { echo "Creasemark needs Python 3.11; name it with PYTHON=..." >&2; exit 1; }
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || { $(call debian,python3-venv,which makes .venv); }
	@echo "Creating .venv"
	@$(PYTHON) -m venv .venv

.venv/runtime: requirements.lock | $(RUN)
	@echo "Installing what Creasemark needs (requirements.lock)"
	@$(RUN) -m pip install -qq --disable-pip-version-check --require-hashes -r requirements.lock
	@touch $@

.venv/development: requirements-dev.lock .venv/runtime
	@echo "Installing what the tests need (requirements-dev.lock)"
	@$(RUN) -m pip install -qq --disable-pip-version-check --require-hashes -r requirements-dev.lock
	@$(RUN) -c 'import cairocffi' 2>/dev/null || { $(call debian,libcairo2,which draws the PNG pictures); }
	@touch $@

# Without a browser the other tests still run, and the browser's say why they do not.
.venv/browser: | .venv/development
	@if command -v chromium >/dev/null || { $(call debian,chromium,which the browser tests drive); }; then touch $@; fi

# --- the demonstration ---------------------------------------------------------------------------------
var/secret: | .venv/runtime
	@mkdir -p var
	@umask 077; $(RUN) -c 'import secrets; print(secrets.token_urlsafe(48))' > $@

# On 127.0.0.1 there is no certificate, hence HTTPS=0; nobody need set up a second factor to look around. SQLite has one writer, hence one worker, one thread.
# Pictures are drawn in the background, while people already look around.
demo: export HTTPS = 0
demo: export SECOND_FACTOR_REQUIRED = 0
demo: export LOG_LEVEL = WARNING
demo: .venv/runtime var/secret
	@set -e; unset DATABASE_URL REDIS_URL; SECRET_KEY=$$(cat var/secret); export SECRET_KEY; \
	$(RUN) manage.py migrate --verbosity 0; \
	$(RUN) manage.py collectstatic --noinput --verbosity 0; \
	$(RUN) manage.py demo --port $(PORT); \
	nice $(RUN) manage.py sweep & \
	exec $(BIN)/granian --interface wsgi --host 127.0.0.1 --port $(PORT) --workers 1 --blocking-threads 1 \
		--log-level warning config.wsgi:application

# --- tests ---------------------------------------------------------------------------------------------
test: test-sqlite test-postgresql

# Many tests wait for processes of their own: four at once keep two cores busy.
test-sqlite: .venv/development .venv/browser
	@$(RUN) -m pytest --numprocesses 4 --quiet

# What the database decides (races, queries, rules kept by the tables, every view once), on that of a production site.
# A name of its own for each run. The database takes cores as well.
test-postgresql: test-sqlite
	@DATABASE_URL=$(POSTGRESQL)/creasemark_$$$$ $(RUN) -m pytest --numprocesses 3 --quiet -m each_database \
		tests/accounts tests/bank tests/assignments tests/histories tests/test_bad_input.py tests/test_permissions.py

# Types and migrations are read off the models under the settings of the site, which ask for a key: no data is read.
check: export SECRET_KEY = only-for-looking-at-the-models-no-data-is-read
check: .venv/development
	@$(BIN)/ruff format --check --quiet .
	@$(BIN)/ruff check --quiet .
	@$(BIN)/mypy --no-error-summary
	@$(RUN) manage.py makemigrations --check --dry-run --verbosity 0

# Says whether a fault is known in a dependency; where nobody can be asked it says so and ends well.
audit: .venv/development
	@$(RUN) -m tests.audit

# --- a production site ---------------------------------------------------------------------------------
site: .venv/runtime
	@$(RUN) manage.py check --deploy --fail-level ERROR
	@$(RUN) manage.py migrate --verbosity 0
	@$(RUN) manage.py collectstatic --noinput --verbosity 0

serve: site
	@exec $(BIN)/granian --interface wsgi --host $(HOST) --port $(PORT) --workers $(WORKERS) \
		--blocking-threads $(THREADS) --respawn-failed-workers config.wsgi:application

# Pupils who answer come before pictures: the worker takes what the web processes leave of the cores. Linux weighs whole
# sessions first (autogroup), in which nice counts for nothing, so the session is made to give way as well. SCHED_IDLE is no better:
# Linux 6.18 wakes others onto the worker's core as if it were free, and there they waited over 3 ms more often, not less.
worker: .venv/runtime
	@{ echo 19 >/proc/self/autogroup; } 2>/dev/null || true; exec nice -n 19 $(BIN)/celery --app config worker --loglevel info --concurrency $(WORKERS)

beat: .venv/runtime
	@mkdir -p var
	@exec $(BIN)/celery --app config beat --loglevel info --schedule var/beat

# --- upkeep --------------------------------------------------------------------------------------------
lock: | .venv/development
	@$(BIN)/uv pip compile --quiet --upgrade --python-version 3.11 --generate-hashes --no-header --no-annotate \
		pyproject.toml --output-file requirements.lock
	@$(BIN)/uv pip compile --quiet --upgrade --python-version 3.11 --generate-hashes --no-header --no-annotate \
		--extra dev --constraint requirements.lock pyproject.toml --output-file requirements-dev.lock

clean:
	rm -rf .venv staticfiles .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
