# Read by `demo`, `test` and the check run: what they share. Not run by itself.

# Prints the first interpreter that is new enough.
find_python() {
  local candidate
  for candidate in python3.11 python3.12 python3.13 python3.14 python3; do
    if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      echo "$candidate"
      return
    fi
  done
  echo "Python 3.11 or newer is needed and was not found; install it and try again." >&2
  return 1
}

digest_of() { .venv/bin/python -c \
  'import hashlib, sys; print(hashlib.sha256(open(sys.argv[1], "rb").read()).hexdigest())' "$1"; }

# Make .venv hold what the lock files name. The last one is installed and must contain the others.
# .venv/locks keeps the digests of the lock files that the environment satisfies, so that a second
# run costs nothing and a changed lock file is noticed.
prepare_environment() {
  local lock="${*: -1}" one digest
  # An environment that was copied or whose interpreter has gone cannot be mended, only made anew.
  if ! .venv/bin/python -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    local python
    python=$(find_python) || return 1
    echo "Making a virtual environment in .venv"
    rm -rf .venv
    "$python" -m venv .venv || return 1
  fi
  digest=$(digest_of "$lock")
  if grep -qsx "$digest" .venv/locks; then return; fi
  echo "Installing what $lock names into .venv (some minutes the first time)"
  .venv/bin/python -m pip install -qq --disable-pip-version-check --no-input \
    --require-hashes --requirement "$lock" || return 1
  : > .venv/locks
  for one in "$@"; do digest_of "$one" >> .venv/locks; done
}

# Asks the database that every server has: the tests make one of their own beside it.
postgres_answers() {
  .venv/bin/python -c 'import psycopg, sys
psycopg.connect(sys.argv[1], dbname="postgres", connect_timeout=3).close()' "$1" 2> /dev/null
}
