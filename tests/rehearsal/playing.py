"""Who plays alone at a console in this process, in words that tests can read."""

from __future__ import annotations

import json
import uuid
from typing import Any

import httpx2

from tests.console.consoles import Browser, Desk, first_view


class Player:
    """Somebody who plays a scenario alone in ``browser``, at a console whose clock is set."""

    def __init__(self, desk: Desk, browser: Browser | None = None) -> None:
        self.desk = desk
        self.browser = browser or desk
        self.session = ""

    def begin(self, scenario: str = "term-not-breathing", **fields: str) -> Player:
        answer = self.browser.form("/rehearse", **{"scenario": scenario, "way": "alone", **fields})
        assert answer.status_code == 303, answer.text[-2000:]
        self.session = answer.headers["location"].split("/")[2]
        return self

    def wait(self, seconds: float) -> Player:
        """Let time go by, in which things happen by themselves."""
        self.desk.clock.at_ms += round(seconds * 1000)  # type: ignore[attr-defined]
        return self

    def touch(self, do: str, name: str = "", **chosen: Any) -> httpx2.Response:
        body = {"id": str(uuid.uuid4()), "do": do, "name": name, "chosen": chosen}
        return self.browser.client.post(
            f"/rehearse/{self.session}/do",
            content=json.dumps(body),
            headers={"content-type": "application/json", "x-csrf-token": self.browser.token},
        )

    def does(self, name: str, **chosen: Any) -> Player:
        """Do something that can be done."""
        answer = self.touch("action", name, **chosen)
        assert answer.status_code == 200, answer.text
        return self

    def turns(self, name: str, value: Any, **chosen: Any) -> Player:
        """Turn a dial until it shows a figure; a valve, until the needle does."""
        director = self.desk.hub.running(self.session).director
        turned = director.cot.turned if director.cot is not None else {}  # type: ignore[union-attr]
        if name not in turned:
            answer = self.touch("set", name, value=value, **chosen)
        else:
            part, handle = turned[name]
            much = value - self.stands(name) if handle.kind == "turn" else value
            answer = self.touch("cot", part, control=handle.name, value=much, **chosen)
        assert answer.status_code == 200, answer.text
        return self

    def stands(self, name: str) -> Any:
        """What the log has of a setting."""
        live = self.desk.hub.running(self.session).live
        assert live is not None
        return live.fold.account.values[name]

    def refused(self, do: str, name: str = "", **chosen: Any) -> str:
        """The words with which a touch is refused."""
        answer = self.touch(do, name, **chosen)
        assert answer.status_code == 409, answer.text
        return str(answer.json()["words"])

    @property
    def view(self) -> Any:
        answer = self.browser.client.get(f"/rehearse/{self.session}")
        assert answer.status_code == 200, answer.text[:500]
        return first_view(answer.text)

    @property
    def signs(self) -> dict[str, str]:
        """What has been found of the baby, by observation."""
        return {line["observation"]: line["what"]["text"] for line in self.view["lines"]}

    @property
    def is_over(self) -> bool:
        """Whether it has ended by now."""
        answer = self.browser.client.get(f"/rehearse/{self.session}", follow_redirects=False)
        return answer.status_code == 303

    def log(self, *kinds: str) -> list[dict[str, Any]]:
        """The data of the entries of some kinds, in order."""
        live = self.desk.hub.running(self.session).live
        assert live is not None
        return [dict(event.data) for event in live.events if event.kind in kinds]

    @property
    def state(self) -> str:
        """The state by now: what has come due is taken as the page is looked at."""
        self.browser.client.get(f"/rehearse/{self.session}", follow_redirects=False)
        live = self.desk.hub.running(self.session).live
        assert live is not None
        return live.fold.state
