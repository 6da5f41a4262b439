"""Print the commands of the README that stand under `<!-- command: NAME -->`, one a line."""

import re
import sys
from pathlib import Path

text = Path(sys.argv[1]).read_text(encoding="utf-8")
blocks = re.findall(r"<!-- command: (\w+) -->\n```sh\n(.*?)\n```", text, re.S)
if [name for name, _ in blocks] != ["start", "test"]:
    sys.exit("the README must hold the commands 'start' and 'test', in this order")
for _, lines in blocks:
    print(" && ".join(line for line in lines.splitlines() if line and not line.startswith("#")))
