"""Sum up pytest's result files, a line each and one for all; fail when a run is missing, empty or has a failure."""

import sys
from pathlib import Path
from xml.etree import ElementTree as ET


def main(paths: list[Path]) -> int:
    all_passed = all_failed = 0
    sound = True
    for path in paths:
        if not path.exists():
            print(f"{path.stem}: did not finish")
            sound = False
            continue
        suite = next(ET.parse(path).iter("testsuite"))  # noqa: S314 - pytest wrote it a moment ago
        total, failures, errors, skipped = (
            int(suite.attrib[name]) for name in ("tests", "failures", "errors", "skipped")
        )
        failed = failures + errors
        passed = total - failed - skipped
        print(f"{path.stem}: {passed} passed, {failed} failed, {skipped} skipped in {suite.attrib['time']} s")
        all_passed += passed
        all_failed += failed
        sound = sound and passed > 0 and failed == 0
    print(f"{all_passed} passed, {all_failed} failed")
    return 0 if sound else 1


sys.exit(main([Path(argument) for argument in sys.argv[1:]]))
