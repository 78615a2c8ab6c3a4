"""What the two best-known servers that take SARIF files ask for, as checks of a log.

GitHub's code scanning, and GitHub Advanced Security for Azure DevOps. Names such as GH1015 are the
rules of each service in the document that the SARIF validator of the package
`@microsoft/sarif-multitool-linux` 5.7.0 exports (`export-validation-rules`): text seen. Numbers
without such a name are those of GitHub's page "SARIF support for code scanning": from memory.
"""

import gzip
import json
import re
from typing import Any

FINAL_SCHEMA = re.compile(
    r"https://docs\.oasis-open\.org/sarif/sarif/v2\.1\.0/.*/sarif-schema-2\.1\.0\.json"
)


def check_for_both(text: str) -> list[dict[str, Any]]:
    """Assert what both services ask for; gives the results of the log."""
    log = json.loads(text)
    assert FINAL_SCHEMA.fullmatch(log["$schema"])  # GH1011, GH1013, GHAzDO1011, GHAzDO1013
    assert len(log["runs"]) <= 20  # GH1013, GHAzDO1013
    (run,) = log["runs"]
    driver, results = run["tool"]["driver"], run["results"]  # GH1014, GHAzDO1014
    assert driver["name"]  # GH1018
    assert driver["fullName"]  # GHAzDO1018
    assert re.match(r"[a-z]+:", driver["informationUri"])  # SARIF2005; absolute, so SARIF1005
    check_rules(driver["rules"])
    for result in results:
        check_result(result, driver["rules"])
    # The pipeline's own task states what GHAzDO1014, 1019 and 1020 ask for: which pipeline it was.
    check_sizes(text, run)
    return list(results)


def check_rules(rules: list[dict[str, Any]]) -> None:
    assert len({rule["id"] for rule in rules}) == len(rules)
    for rule in rules:
        # GH2012, GHAzDO2012
        assert rule["id"]
        assert 0 < len(rule["name"]) <= 255
        assert 0 < len(rule["shortDescription"]["text"]) <= 1024
        assert 0 < len(rule["fullDescription"]["text"]) <= 1024
        assert rule["help"]["text"]


def check_result(result: dict[str, Any], rules: list[dict[str, Any]]) -> None:
    assert rules[result["ruleIndex"]]["id"] == result["ruleId"]  # GHAzDO1015, SARIF1010
    assert result["message"]["text"]  # GH1007, GH1015
    (location,) = result["locations"]  # GH1001, GH1015
    for each in (location, *result.get("relatedLocations", ())):
        place = each["physicalLocation"]  # GH1016
        # GH1005, GH1006: relative to the top of the repository.
        assert not re.match(r"[a-z]+:|/", place["artifactLocation"]["uri"])
        assert place["region"]["startLine"] >= 1  # GH1003, GH1017
    prints = result["partialFingerprints"]
    assert re.fullmatch(r"[0-9a-f]{1,16}:[0-9]+", prints["primaryLocationLineHash"])
    assert re.fullmatch(r"[0-9a-f]{32}", prints["loadRuleSubject/v1"])
    # Only what fails may have a level (SARIF 3.27.10), and only what has one is shown.
    assert (result["kind"] == "fail") == (result["level"] != "none")


def check_sizes(text: str, run: dict[str, Any]) -> None:
    """GH1004 is about these limits, and has no numbers."""
    assert len(gzip.compress(text.encode())) <= 10_000_000
    assert len(run["results"]) <= 25_000  # of which 5,000 are shown
    assert len(run["tool"]["driver"]["rules"]) <= 25_000
    for result in run["results"]:
        assert len(result.get("relatedLocations", ())) < 1000
