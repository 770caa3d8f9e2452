"""The rules of xAPI 1.0.3 for a statement, as its specification writes them.

Source: "Experience API, Part Two: Experience API Data", version 1.0.3, Advanced Distributed
Learning Initiative (github.com/adlnet/xAPI-Spec, xAPI-Data.md), since IEEE 9274.1.1. The section
stands beside each rule. Where the specification gives the allowed properties of an object, any
other is refused (2.2: "where a key or value is not allowed by this specification").
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
# 4.6: "A Duration MUST be expressed using the format for Duration in ISO 8601:2004(E) section
# 4.4.3.2", and should be no finer than 0.01 s
DURATION = re.compile(
    r"P(?!$)(\d+W|(\d+Y)?(\d+M)?(\d+D)?(T(?=\d)(\d+H)?(\d+M)?(\d+(\.\d{1,2})?S)?)?)"
)
# 4.2: keys of a language map are RFC 5646 language tags (language, script, region)
LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z]{4})?(-([A-Za-z]{2}|\d{3}))?")
# 4.5: RFC 3339, at least milliseconds, with the time zone
TIMESTAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3,}(Z|[+-]\d\d:\d\d)")

Found = Iterator[str]


def broken_rules(statement: Any) -> list[str]:
    """Return each rule that a statement breaks, with its section."""
    return list(_statement(statement))


def _statement(statement: Any) -> Found:
    allowed = "id actor verb object result context timestamp stored authority version attachments"
    yield from _keys("2.4", "statement", statement, allowed, "actor verb object")
    yield from _no_nulls("2.2", statement)
    yield from _if("2.4.1", "id", statement.get("id"), _is_uuid)
    yield from _actor(statement["actor"])
    yield from _keys("2.4.3", "verb", statement["verb"], "id display", "id")
    yield from _if("2.4.3", "verb.id", statement["verb"]["id"], _is_iri)
    yield from _language_map("2.4.3", statement["verb"].get("display", {}))
    yield from _activity("2.4.4.1", statement["object"])
    yield from _result(statement.get("result", {}))
    yield from _context(statement.get("context", {}))
    yield from _if("4.5", "timestamp", statement.get("timestamp"), _is_timestamp)


def _actor(actor: Any) -> Found:
    if actor.get("objectType") != "Group":
        yield from _agent(actor)
        return
    # 2.4.2.2: an Identified Group has exactly one Inverse Functional Identifier; its members are
    # Agents
    allowed = "objectType name member mbox mbox_sha1sum openid account"
    yield from _keys("2.4.2.2", "group", actor, allowed)
    yield from _agent(
        {key: value for key, value in actor.items() if key not in ("member", "objectType")}
    )
    for member in actor.get("member", []):
        if member.get("objectType", "Agent") != "Agent":
            yield "2.4.2.2: a member is no Agent"
        yield from _agent(member)


def _agent(agent: Any) -> Found:
    # 2.4.2.1: "An Agent MUST be identified by one (1) of the four types of Inverse Functional
    # Identifiers" and "MUST NOT include more than one"
    yield from _keys("2.4.2.1", "actor", agent, "objectType name mbox mbox_sha1sum openid account")
    identified = agent.keys() & {"mbox", "mbox_sha1sum", "openid", "account"}
    if len(identified) != 1:
        yield f"2.4.2.1: the actor is identified by {sorted(identified)}"
    if agent.get("objectType", "Agent") != "Agent":
        yield "2.4.2.1: objectType is Agent"
    account = agent.get("account")
    if account is not None:
        yield from _keys("2.4.2.4", "account", account, "homePage name", "homePage name")
        yield from _if("2.4.2.4", "homePage", account["homePage"], _is_iri)
        yield from _if("2.4.2.4", "account.name", account["name"], _is_text)


def _activity(section: str, activity: Any) -> Found:
    yield from _keys(section, "activity", activity, "objectType id definition", "id")
    if activity.get("objectType", "Activity") != "Activity":
        yield f"{section}: objectType MUST be Activity when present"
    yield from _if(section, "activity.id", activity["id"], _is_iri)
    definition = activity.get("definition", {})
    allowed = "name description type moreInfo extensions"
    yield from _keys(section, "definition", definition, allowed)
    yield from _if(section, "type", definition.get("type"), _is_iri)
    for name in ("name", "description"):
        yield from _language_map(section, definition.get(name, {}))
    yield from _extensions(definition.get("extensions", {}))


def _result(result: Any) -> Found:
    allowed = "score success completion response duration extensions"
    yield from _keys("2.4.5", "result", result, allowed)
    for name in ("success", "completion"):
        yield from _if("2.4.5", name, result.get(name), lambda value: isinstance(value, bool))
    yield from _if("2.4.5", "response", result.get("response"), _is_text)
    yield from _if("4.6", "duration", result.get("duration"), _is_duration)
    yield from _extensions(result.get("extensions", {}))
    score = result.get("score", {})
    yield from _keys("2.4.5.1", "score", score, "scaled raw min max")
    for name in score:
        yield from _if("2.4.5.1", name, score[name], _is_number)
    # 2.4.5.1: "Decimal number between -1 and 1, inclusive"; raw "between min and max"; min "less
    # than max"
    if not all(_is_number(value) for value in score.values()):
        return
    if not -1 <= score.get("scaled", 0) <= 1:
        yield "2.4.5.1: scaled is outside -1 to 1"
    low, high = score.get("min", -1e300), score.get("max", 1e300)
    if not low < high:
        yield "2.4.5.1: min is not less than max"
    if "raw" in score and not low <= score["raw"] <= high:
        yield "2.4.5.1: raw is outside min to max"


def _context(context: Any) -> Found:
    allowed = (
        "registration instructor team contextActivities revision platform language statement "
        "extensions"
    )
    yield from _keys("2.4.6", "context", context, allowed)
    yield from _if("2.4.6", "registration", context.get("registration"), _is_uuid)
    for name in ("revision", "platform"):
        yield from _if("2.4.6", name, context.get(name), _is_text)
    if "team" in context:
        if context["team"].get("objectType") != "Group":
            yield "2.4.6: team is a Group"
        yield from _actor(context["team"])
    activities = context.get("contextActivities", {})
    # 2.4.6.2: every key "MUST be one of parent, grouping, category, or other"; every value should
    # be an array of Activity Objects
    yield from _keys("2.4.6.2", "contextActivities", activities, "parent grouping category other")
    for some in activities.values():
        if not isinstance(some, list):
            yield "2.4.6.2: context activities are an array"
            continue
        for activity in some:
            yield from _activity("2.4.6.2", activity)
    yield from _extensions(context.get("extensions", {}))


def _extensions(extensions: Mapping[str, Any]) -> Found:
    for key in extensions:  # 4.1: "The keys of an extensions map MUST be IRIs"
        yield from _if("4.1", f"extension {key}", key, _is_iri)


def _language_map(section: str, words: Mapping[str, Any]) -> Found:
    for tag, text in words.items():
        if not LANGUAGE.fullmatch(tag) or not _is_text(text):
            yield f"{section}: {tag!r}: {text!r} is no language and text"


def _keys(section: str, what: str, part: Any, allowed: str, needed: str = "") -> Found:
    for key in part.keys() - set(allowed.split()):
        yield f"{section}: {what} has no property {key!r}"
    for key in set(needed.split()) - part.keys():
        yield f"{section}: {what} needs {key!r}"


def _no_nulls(section: str, value: Any, inside: str = "") -> Found:
    # 2.2: "The LRS MUST reject Statements with any null values (except inside extensions)"
    if value is None:
        yield f"{section}: null in {inside}"
    elif isinstance(value, dict):
        for key, part in value.items():
            if key != "extensions":
                yield from _no_nulls(section, part, key)
    elif isinstance(value, list):
        for part in value:
            yield from _no_nulls(section, part, inside)


def _if(section: str, what: str, value: Any, right: Callable[[Any], bool]) -> Found:
    if value is not None and not right(value):
        yield f"{section}: {what} {value!r}"


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _is_uuid(value: Any) -> bool:
    # 2.4.1: "all versions of variant 2 in RFC 4122 are valid … in standard string form"
    return isinstance(value, str) and bool(UUID.fullmatch(value))


def _is_iri(value: Any) -> bool:
    # 2.2: IRIs need a scheme; RFC 3987 allows no blanks or < > " { } | \ ^ `
    if not isinstance(value, str) or re.search(r'[\s<>"{}|\\^`]', value):
        return False
    parts = urlsplit(value)
    return bool(parts.scheme) and bool(parts.netloc or parts.path)


def _is_duration(value: Any) -> bool:
    return isinstance(value, str) and bool(DURATION.fullmatch(value))


def _is_timestamp(value: Any) -> bool:
    if not isinstance(value, str) or not TIMESTAMP.fullmatch(value):
        return False
    return datetime.fromisoformat(value).tzinfo is not None
