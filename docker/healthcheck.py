"""Ask the running server whether it is well, as a proxy in front of it would ask.

The host has to be one that the server answers to, and the header stands for a proxy that ended TLS;
without them a server set up for the open web refuses or redirects the question.
"""

import os
import sys
from urllib.request import Request, urlopen

allowed = os.environ.get("ALLOWED_HOSTS", "").split(",")[0].strip().lstrip(".")
host = allowed if allowed and allowed != "*" else "localhost"
question = Request("http://127.0.0.1:8000/healthz", headers={"Host": host, "X-Forwarded-Proto": "https"})
try:
    with urlopen(question, timeout=5) as answer:
        sys.exit(0 if answer.status == 200 else 1)
except OSError as error:
    sys.exit(f"not well: {error}")
