"""Prints what `go test` would from the events of `go test -json`, and fails where a test was skipped
that this machine can run: a skip is no proof. Usage: go test -json ./... | python3 .ci/skipped.py"""

import json
import sys

# Reasons that hold on this machine too. Everything else is installed by .ci/run.
ALLOWED = (
    "beside this checkout",  # data that is not committed
    "beside the checkout",
    "gives no CAP_LEASE away",  # a right that a container may lack
)

said = {}
skipped, failed = [], False
for line in sys.stdin:
    try:
        event = json.loads(line)
    except ValueError:  # a build's own words
        print(line, end="")
        continue
    test = (event.get("Package", ""), event.get("Test"))
    action = event["Action"]
    if action in ("output", "build-output"):
        if test[1] is None:
            print(event["Output"], end="")
        else:
            said.setdefault(test, []).append(event["Output"])
    elif action == "skip" and test[1] is not None:
        reason = "".join(said.pop(test, []))
        if not any(a in reason for a in ALLOWED):
            skipped.append(f"{test[0]} {test[1]}: {reason.strip()}")
    elif action in ("fail", "build-fail"):
        failed = True
        print("".join(said.pop(test, [])), end="")
    elif action == "pass":
        said.pop(test, None)
    sys.stdout.flush()

for s in skipped:
    print("skipped although this machine can run it:", s)
sys.exit(1 if failed or skipped else 0)
