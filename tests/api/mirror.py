"""A program that mirrors what its account may see, by the lists once and by the feed from then on.

It does what the API's document tells clients to do, and nothing more.
"""

from api.urls import NOUNS, OF_COLLECTIONS

ALL = NOUNS | OF_COLLECTIONS
MIRRORED = sorted(ALL.keys() - {"component-kinds"})
#: Lists that leave out records which a later one has replaced, unless asked for them.
WITH_SUPERSEDED = {
    noun for noun in MIRRORED if "superseded" in ALL[noun].filterset_class.base_filters
}


class Mirror:
    def __init__(self, caller, limit=50):
        self.caller, self.limit = caller, limit
        self.place = caller.get("changes").json()["after"]
        self.rows = listed(caller)
        self.seen = []

    def follow(self):
        """Read the feed to its end; returns how many lines there were."""
        before = len(self.seen)
        while True:
            page = self.caller.get("changes", {"after": self.place, "limit": self.limit}).json()
            for line in page["items"]:
                self.seen.append(line["cursor"])
                self.take(line)
            self.place = page["after"]
            if page["next"] is None:
                return len(self.seen) - before

    def take(self, line):
        noun, key = line["noun"], line["id"]
        if line["change"] == "removed":
            self.rows.pop((noun, key), None)
            if noun in ("vehicles", "collections"):
                self.forget(noun.removesuffix("s"), key)
            return
        found = self.caller.get(line["url"])
        if found.status_code == 200:
            self.rows[noun, key] = found.json()
        else:
            self.rows.pop((noun, key), None)
        if line["change"] == "created" and noun in ("vehicles", "collections"):
            self.rows |= listed(self.caller, **{noun.removesuffix("s"): key})

    def forget(self, belongs, key):
        self.rows = {place: row for place, row in self.rows.items() if row.get(belongs) != key}


def listed(caller, **narrowed):
    """Return every row of every list, as far as it can be narrowed so."""
    found = {}
    for noun in MIRRORED:
        if noun in ("collections", "members", "vehicles", "part-offers") and "vehicle" in narrowed:
            continue
        if noun == "collections" and narrowed:
            continue
        query = narrowed | ({"superseded": "true"} if noun in WITH_SUPERSEDED else {})
        address, asked = noun, query | {"limit": 200}
        while address:
            answer = caller.get(address, asked)
            assert answer.status_code == 200, answer.content
            page = answer.json()
            found |= {(noun, row["id"]): row for row in page["items"]}
            address, asked = page["next"], None
    return found
