"""Reads OpenMetrics text from standard input with the Prometheus library's parser and prints every sample as JSON."""

import json
import sys

from prometheus_client.openmetrics.parser import text_string_to_metric_families

families = {}
for family in text_string_to_metric_families(sys.stdin.read()):
    samples = [{"name": one.name, "labels": one.labels, "value": one.value} for one in family.samples]
    families[family.name] = {"type": family.type, "unit": family.unit, "samples": samples}
print(json.dumps(families))
