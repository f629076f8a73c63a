"""Whatever the description allows or forbids, the running service answers as it says."""

import json
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
SEED = 1911


def test_the_service_keeps_its_description_whatever_it_is_sent(live, tmp_path):
    schema = tmp_path / "openapi.json"
    live.run(f"python manage.py spectacular --format openapi-json --file {schema}")
    ran = subprocess.run(
        [sys.executable, "-m", "schemathesis.cli", "--config-file", str(HERE / "schemathesis.toml")]
        + ["run", str(schema), "--url", live.url, "--checks", "all", "--workers", "2"]
        + ["--seed", str(SEED), "--phases", "examples,coverage,fuzzing,stateful"]
        + ["--header", f"Authorization:Bearer {live.token}", "--continue-on-failure"],
        cwd=tmp_path,
        env=live.environment
        | {"SERVICE_URL": live.url, "SCHEMATHESIS_HOOKS": "tests.contract.schemathesis_hooks"}
        | {"PYTHONPATH": str(HERE.parents[1])},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    operations = sum(len(calls) for calls in json.loads(schema.read_text())["paths"].values())
    assert ran.returncode == 0, ran.stdout[-12_000:] + ran.stderr[-2_000:]
    assert f"Tested: {operations}" in ran.stdout
