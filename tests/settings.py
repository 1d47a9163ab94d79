"""The shop's settings for tests: a database of their own in a file, and a password hasher that doesn't take its time."""

import os

os.environ["SHOP_DATABASE"] = "test"
# One test worker to a processor: threads of linear algebra would only stand in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from shop.settings import *  # noqa: F403
from shop.settings import DATA_DIR, DATABASES

# In a file, not in memory: a server under test and the test itself write from two threads.
DATABASES["default"]["CONN_MAX_AGE"] = 0
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / f"test-{os.getpid()}.sqlite3")}
if "init_command" in DATABASES["default"].get("OPTIONS", {}):
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# An answer must not depend on how busy the machine is.
MATCHING_SECONDS = float("inf")
