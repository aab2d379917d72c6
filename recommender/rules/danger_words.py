"""Danger words: reads all free text of a duty sheet for uses that its fields do not name.

A word counts in any form: plural, -ing, hyphen or space, British or American, joined or apart, with a slip of the
keyboard, in English, German, French or Spanish. It is excused where the text says that it is not meant: negated
("not for climbing"), part of a harmless compound ("brake light"), only stored or marked ("hook for a helmet"), or
on a scale model. What is excused is kept: the note names it as a use that the part is not for.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

from recommender.duty.sheet import Duty
from recommender.rules.triggers import Facts, Tree, Variable, evaluate, parse
from recommender.rules.vocabulary import checked_value, worse_of

LONGEST_PHRASE = 5  # words
# Letters from which a slip of the keyboard is forgiven; shorter words have too many neighbours of other meaning.
FUZZY_FROM: dict[str, int] = {"en": 6, "de": 8, "fr": 8, "es": 8}
FUZZY_PAIR_FROM = 9  # letters of two words together
FUZZY_TWICE_FROM = 11  # letters from which two slips are forgiven
NEGATION_REACH = 5  # words
BESIDE_REACH = 2  # words between a danger word and the thing that only stores it
LINK_REACH = 6

_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_CLAUSES = re.compile(r"[.;:!?()\[\]\n]+(?:\s|$)|[;!?()\[\]\n]|\b(?:but|aber|mais|pero)\b")
_WORDS = re.compile(r"[^\W\d_]+|\d+(?:[.,]\d+)?|,")
_VOLTS = re.compile(
    r"(?<![\w.,])(\d{1,6}(?:[.,]\d+)?)\s*(k?)\s*(?:v|volts?|vac|vdc)(?![a-z0-9])", re.IGNORECASE
)
_UMLAUTS = {"ae": "a", "oe": "o", "ue": "u"}
_UNSEEN = dict.fromkeys(map(ord, "\u00ad\u200b\u200c\u200d\u2060\ufeff'’`´"))


class Match(NamedTuple):
    """A stretch of a clause that a row of the table matches: word numbers from `start` up to `end`.

    `turned`: the name stands turned round ("lever for the brake"), so it is the thing itself, not something beside.
    """

    row: str
    start: int
    end: int
    harmless: bool
    turned: bool = False


class Excuse(NamedTuple):
    """A danger word that the text names in a harmless way, and why it is harmless."""

    row: str
    words: str
    why: str


@dataclass(frozen=True)
class Evidence:
    """What the free text implies: variable -> value, with the words found, and what was excused."""

    implied: Mapping[str, Any] = field(default_factory=dict)
    found: tuple[tuple[str, str], ...] = ()
    excused: tuple[Excuse, ...] = ()


class Danger(NamedTuple):
    """One row of the table: what its words imply, and when they are excused."""

    key: str
    kind: str
    implies: Mapping[str, Any]
    unless: Tree
    beside: frozenset[str]
    on_models: bool


@dataclass(frozen=True)
class Lexicon:
    """The table of danger words, indexed for reading text."""

    rows: Mapping[str, Danger]
    phrases: Mapping[str, Sequence[tuple[str, bool]]]
    prefixes: Mapping[str, tuple[tuple[str, str], ...]]
    suffixes: Mapping[str, tuple[tuple[str, str], ...]]
    near: Mapping[tuple[str, int], tuple[str, ...]]
    lists: Mapping[str, frozenset[str]]
    contexts: frozenset[str]


# -- building --------------------------------------------------------------------------------------------------------


def lexicon_from(
    rows: Iterable[Mapping[str, Any]],
    word_lists: Iterable[Mapping[str, Any]],
    vocabulary: Mapping[str, Variable],
    keep: Callable[[Callable[[], Any]], Any] = lambda make: make(),
) -> Lexicon:
    """Index the tables ``danger_words`` and ``text_words``; `keep` may hand out an index kept from before."""
    rows, word_lists = list(rows), list(word_lists)
    index = keep(lambda: word_index(rows, word_lists))
    lists = {key: frozenset(words) for key, words in index["lists"].items()}
    return Lexicon(
        rows={row["key"]: _danger_from(row, lists, vocabulary) for row in rows},
        phrases={key: [tuple(entry) for entry in entries] for key, entries in index["phrases"].items()},
        prefixes=_by_edge(index["prefix"], slice(0, 3)),
        suffixes=_by_edge(index["suffix"], slice(-3, None)),
        near=_by_shape(index["slippery"]),
        lists=lists,
        contexts=lists.get("contexts", frozenset()),
    )


def word_index(rows: Iterable[Mapping[str, Any]], word_lists: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """The words of the tables by the keys under which text is looked up, as plain JSON values."""
    phrases: dict[str, list[tuple[str, bool]]] = {}
    slippery: dict[str, None] = {}
    wild: dict[str, list[tuple[str, str]]] = {"prefix": [], "suffix": []}
    for row in rows:
        for language, least in FUZZY_FROM.items():
            for word in row.get(language) or ():
                if word.endswith("*"):
                    wild["prefix"].append((_plain(word[:-1]), row["key"]))
                elif word.startswith("*"):
                    wild["suffix"].append((_key_of(word[1:]), row["key"]))
                else:
                    key = _key_of(word)
                    phrases.setdefault(key, []).append((row["key"], False))
                    if language in ("fr", "es") and " " in word:
                        phrases.setdefault(_plural_key(word), []).append((row["key"], False))
                    if row["kind"] == "danger" and len(key) >= least and key[0] != "=":
                        slippery[key] = None
        for word in row.get("harmless") or ():
            phrases.setdefault(_key_of(word), []).append((row["key"], True))
    return {
        "lists": {row["key"]: sorted({_key_of(word) for word in row["words"]}) for row in word_lists},
        "phrases": {key: list(dict.fromkeys(entries)) for key, entries in phrases.items()},
        "slippery": list(slippery),
        **wild,
    }


def _plural_key(phrase: str) -> str:
    """The key under which a phrase is found with plurals inside it ("prises de courant")."""
    return " ".join(stem(word) for word in _words_of(phrase))


def _danger_from(
    row: Mapping[str, Any], lists: Mapping[str, frozenset[str]], vocabulary: Mapping[str, Variable]
) -> Danger:
    implies = {key: checked_value(vocabulary[key], value) for key, value in row["implies"].items()}
    beside: frozenset[str] = frozenset()
    for name in row.get("beside") or ():
        beside |= lists[name[1:]] if name.startswith("@") else frozenset({_key_of(name)})
    if beside:
        beside |= lists["shown"]
    unless = parse(row.get("unless") or "", vocabulary)
    return Danger(row["key"], row["kind"], implies, unless, beside, bool(row.get("on_models")))


def _by_edge(entries: list[tuple[str, str]], edge: slice) -> dict[str, tuple[tuple[str, str], ...]]:
    index: dict[str, list[tuple[str, str]]] = {}
    for text, row in entries:
        index.setdefault(text[edge], []).append((text, row))
    return {key: tuple(found) for key, found in index.items()}


def _by_shape(keys: Iterable[str]) -> dict[tuple[str, int], tuple[str, ...]]:
    index: dict[tuple[str, int], list[str]] = {}
    for key in keys:
        index.setdefault((key[0], len(key)), []).append(key)
    return {shape: tuple(found) for shape, found in index.items()}


# -- words -----------------------------------------------------------------------------------------------------------


def _plain(text: str) -> str:
    """Lower case without accents, apostrophes and unseen signs."""
    if text.isascii():
        return text.replace("'", "").replace("`", "").lower()
    parted = unicodedata.normalize("NFKD", text.translate(_UNSEEN).casefold())
    return "".join(sign for sign in parted if not unicodedata.combining(sign))


@lru_cache(maxsize=16384)
def stem(word: str) -> str:
    """The word without the endings of plural, -ing and -ed; light, the same for table and text."""
    if len(word) < 5:
        return word[:-1] if len(word) == 4 and word[-1] == "s" and word[-2] != "s" else word
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith(("sses", "shes", "ches", "xes")):
        return word[:-2]
    if word[-1] == "s" and word[-2] not in "su":
        word = word[:-1]
    for ending in ("ing", "ed"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            word = word[: -len(ending)]
            return word[:-1] if word[-1] == word[-2] and word[-1] not in "sl" else word
    return word[:-1] if word[-1] == "e" and len(word) > 4 else word


def _key_of(phrase: str) -> str:
    """The key of a phrase: its words joined, the last one stemmed; after ``=`` the word counts only as written."""
    if phrase[0] == "=":
        return "=" + _plain(phrase[1:])
    words = _words_of(phrase)
    if len(words) == 1:
        return stem(words[0])
    return "".join(words[:-1]) + stem(words[-1]) if words else ""


def _words_of(phrase: str) -> list[str]:
    words = phrase.split()
    if phrase.islower() and "".join(words).isalpha() and phrase.isascii():
        return words
    return _WORDS.findall(_plain(phrase))


def clauses_of(text: str) -> Iterator[list[str]]:
    """The words of each clause; a comma stays as a word of its own."""
    for clause in _CLAUSES.split(_CAMEL.sub(" ", text)):
        words = _WORDS.findall(_plain(clause))
        if words:
            yield words


def slips_between(first: str, second: str, most: int) -> bool:
    """Whether two words are at most `most` (1 or 2) slips apart: a letter more, less, changed, or two swapped."""
    if first == second:
        return True
    if most == 0 or abs(len(first) - len(second)) > most:
        return False
    same = 0
    for letter, other in zip(first, second, strict=False):
        if letter != other:
            break
        same += 1
    first, second = first[same:], second[same:]
    if most == 1:
        return _one_slip(first, second)
    return (
        slips_between(first[1:], second[1:], most - 1)
        or slips_between(first[1:], second, most - 1)
        or slips_between(first, second[1:], most - 1)
        or (_swapped(first, second) and slips_between(first[2:], second[2:], most - 1))
    )


def _one_slip(first: str, second: str) -> bool:
    """Whether one slip, at the start, turns `first` into `second`."""
    if len(first) > len(second):
        return first[1:] == second
    if len(first) < len(second):
        return first == second[1:]
    return first[1:] == second[1:] or (_swapped(first, second) and first[2:] == second[2:])


def _swapped(first: str, second: str) -> bool:
    return len(first) > 1 and len(second) > 1 and first[0] == second[1] and first[1] == second[0]


# -- reading ---------------------------------------------------------------------------------------------------------


def texts_of(duty: Duty) -> Iterator[str]:
    """Every free text of the sheet."""
    yield duty.part
    yield duty.purpose
    yield duty.notes
    yield from (load.note for load in duty.loads)
    yield from duty.uses
    yield from duty.place.chemicals


def read_texts(duty: Duty, lexicon: Lexicon, vocabulary: Mapping[str, Variable], facts: Facts) -> Evidence:
    """What all free text of the sheet implies.

    `facts` are those of the fields alone; a row whose ``unless`` holds there is excused ("low voltage only").
    """
    implied: dict[str, Any] = {}
    found: list[tuple[str, str]] = []
    excused: list[Excuse] = []
    texts = tuple(dict.fromkeys(texts_of(duty)))
    for text in texts:
        _read_voltages(text, vocabulary, implied)
    volts = worse_of(vocabulary["voltage_v"], facts["voltage_v"], implied.get("voltage_v"))
    known = {**facts, "voltage_v": volts}
    for words in (words for text in texts for words in clauses_of(text)):
        for match, why in judged_matches(words, lexicon):
            danger = lexicon.rows[match.row]
            shown = " ".join(words[match.start : match.end])
            why = why or _excuse_of_fields(danger, shown, known)
            if why:
                excused.append(Excuse(match.row, shown, why))
                continue
            found.append((match.row, shown))
            for key, value in danger.implies.items():
                implied[key] = worse_of(vocabulary[key], implied.get(key), value)
    _read_fluids(duty, lexicon, vocabulary, implied)
    _read_uses(duty, vocabulary, implied)
    near = frozenset().union(*(names_of(lexicon.rows[excuse.row]) for excuse in excused))
    if near:
        implied["near_uses"] = near
    return Evidence(implied, tuple(dict.fromkeys(found)), tuple(dict.fromkeys(excused)))


def _excuse_of_fields(danger: Danger, shown: str, facts: Facts) -> str:
    if danger.unless[0] == "never" or evaluate(danger.unless, facts) is not True:
        return ""
    return f"“{shown}” is within what the sheet allows elsewhere, such as a low voltage."


def names_of(danger: Danger) -> frozenset[str]:
    """What a danger is called in ``near_uses``: its key and the uses that it implies."""
    if danger.kind != "danger":
        return frozenset()
    uses: frozenset[str] = danger.implies.get("uses", frozenset())
    return uses | {danger.key}


def _read_voltages(text: str, vocabulary: Mapping[str, Variable], implied: dict[str, Any]) -> None:
    for match in _VOLTS.finditer(text):
        volts = float(match.group(1).replace(",", ".")) * (1000.0 if match.group(2) else 1.0)
        implied["voltage_v"] = worse_of(vocabulary["voltage_v"], implied.get("voltage_v"), volts)


def _read_uses(duty: Duty, vocabulary: Mapping[str, Variable], implied: dict[str, Any]) -> None:
    """Uses written as words of the vocabulary count as they stand."""
    named = frozenset(_plain(use).strip().replace(" ", "_").replace("-", "_") for use in duty.uses)
    known = named & vocabulary["uses"].values
    if known:
        implied["uses"] = worse_of(vocabulary["uses"], implied.get("uses"), known)


def _read_fluids(
    duty: Duty, lexicon: Lexicon, vocabulary: Mapping[str, Variable], implied: dict[str, Any]
) -> None:
    """A fluid that the table does not know counts as a solvent: unknown is never safe."""
    harmless = lexicon.lists.get("mild_fluids", frozenset())
    for text in duty.place.chemicals:
        for words in clauses_of(text):
            rows = {match.row for match in matches_in(words, lexicon) if not match.harmless}
            kinds = {lexicon.rows[row].kind for row in rows}
            if "fluid" not in kinds and not any(stem(word) in harmless for word in words):
                fluid = frozenset({"solvent"})
                implied["chemicals"] = worse_of(vocabulary["chemicals"], implied.get("chemicals"), fluid)


def judged_matches(words: list[str], lexicon: Lexicon) -> Iterator[tuple[Match, str]]:
    """Each match of a clause with the reason why it is excused, or an empty one."""
    matches = matches_in(words, lexicon)
    harmless = [match for match in matches if match.harmless]
    context = _context_of(words, lexicon) if matches else ""
    for match in matches:
        if not match.harmless:
            yield match, _excuse(match, harmless, context, words, lexicon)


def matches_in(words: list[str], lexicon: Lexicon) -> list[Match]:
    """All rows that match in a clause; a longer match hides shorter ones inside it."""
    found: dict[Match, None] = {}
    stems = [stem(word) for word in words]
    for start, word in enumerate(words):
        for key, end in (("=" + word, start + 1), *_keys_from(words, stems, start)):
            for row, harmless in lexicon.phrases.get(key, ()):
                found[Match(row, start, end, harmless)] = None
        if len(word) >= 4:
            _add_wild(word, stems[start], start, lexicon, found)
            if any(pair in word for pair in _UMLAUTS):
                _add_umlauts(word, start, lexicon, found)
    _add_turned(words, stems, lexicon, found)
    _add_slips(words, stems, lexicon, found)
    return [match for match in found if not _hidden(match, found)]


def _keys_from(words: list[str], stems: list[str], start: int) -> Iterator[tuple[str, int]]:
    """Keys of the phrases that begin at `start`, each with its end."""
    joined, joined_stems = "", list[str]()
    for end in range(start + 1, min(start + LONGEST_PHRASE, len(words)) + 1):
        if words[end - 1] == ",":
            return
        joined_stems.append(stems[end - 1])
        yield joined + stems[end - 1], end
        if end - start > 1:
            yield " ".join(joined_stems), end
        joined += words[end - 1]


def _add_turned(words: list[str], stems: list[str], lexicon: Lexicon, found: dict[Match, None]) -> None:
    """Names turned round: "blade for a table fan" is a fan blade."""
    joints, determiners = lexicon.lists["joints"], lexicon.lists["determiners"]
    for joint in range(1, len(words) - 1):
        if stems[joint] not in joints:
            continue
        right = joint + 1
        while right < len(words) - 1 and stems[right] in determiners:
            right += 1
        for first, last in ((right, right), (right, right + 1), (right + 1, right + 1)):
            if last < len(words) and "," not in words[joint : last + 1]:
                for owner in {"".join(words[first : last + 1]), "".join(words[first:last]) + stems[last]}:
                    for row, harmless in lexicon.phrases.get(owner + stems[joint - 1], ()):
                        found[Match(row, joint - 1, last + 1, harmless, turned=True)] = None


def _add_umlauts(word: str, start: int, lexicon: Lexicon, found: dict[Match, None]) -> None:
    """A German word typed with ae, oe or ue."""
    for pair, letter in _UMLAUTS.items():
        word = word.replace(pair, letter)
    for row, harmless in lexicon.phrases.get(stem(word), ()):
        found[Match(row, start, start + 1, harmless)] = None
    _add_wild(word, stem(word), start, lexicon, found)


def _add_wild(word: str, root: str, start: int, lexicon: Lexicon, found: dict[Match, None]) -> None:
    for text, row in lexicon.prefixes.get(word[:3], ()):
        if word.startswith(text):
            found[Match(row, start, start + 1, False)] = None
    for text, row in lexicon.suffixes.get(root[-3:], ()):
        if root.endswith(text):
            found[Match(row, start, start + 1, False)] = None


def _add_slips(words: list[str], stems: list[str], lexicon: Lexicon, found: dict[Match, None]) -> None:
    """Words, and pairs of words, that a slip of the keyboard parts from a danger."""
    covered = {place for match in found for place in range(match.start, match.end)}
    ordinary = lexicon.lists.get("ordinary", frozenset())
    for start, root in enumerate(stems):
        if start in covered:
            continue
        if len(root) >= FUZZY_FROM["en"] - 1 and root not in ordinary:
            _add_neighbours(root, start, start + 1, lexicon, found)
        if start + 1 < len(words) and start + 1 not in covered and "," not in words[start : start + 2]:
            pair = words[start] + stems[start + 1]
            if stem(words[start]) in ordinary or stems[start + 1] in ordinary:
                continue
            if len(pair) >= FUZZY_PAIR_FROM and len(words[start]) > 2 and len(stems[start + 1]) > 2:
                _add_neighbours(pair, start, start + 2, lexicon, found)


def _add_neighbours(root: str, start: int, end: int, lexicon: Lexicon, found: dict[Match, None]) -> None:
    for key in _neighbours(root, lexicon):
        for row, harmless in lexicon.phrases[key]:
            if not harmless:
                found[Match(row, start, end, False)] = None


def _neighbours(root: str, lexicon: Lexicon) -> Iterator[str]:
    most = 2 if len(root) >= FUZZY_TWICE_FROM else 1
    for length in range(len(root) - most, len(root) + most + 1):
        for key in lexicon.near.get((root[0], length), ()):
            if slips_between(root, key, most):
                yield key


def _hidden(match: Match, found: Iterable[Match]) -> bool:
    """Whether a longer match of a danger covers this one, so that this one is only a part of its name."""
    return any(
        other.start <= match.start
        and match.end <= other.end
        and other.end - other.start > match.end - match.start
        and other.harmless == match.harmless
        for other in found
    )


def _excuse(match: Match, harmless: list[Match], context: str, words: list[str], lexicon: Lexicon) -> str:
    named = " ".join(words[match.start : match.end])
    for other in harmless:
        if other.row == match.row and other.start <= match.start and match.end <= other.end:
            return f"“{' '.join(words[other.start : other.end])}” is another thing than “{named}”."
    if context and lexicon.rows[match.row].on_models:
        return f"“{named}” stands beside “{context}”: no one relies on it."
    negator = _negator_before(match, words, lexicon)
    if negator:
        return f"“{negator} … {named}” says that it is not for this."
    thing = "" if match.turned else _thing_beside(match, words, lexicon)
    if thing:
        return f"the part is a {thing} beside “{named}”, not the thing itself."
    return ""


def _context_of(words: list[str], lexicon: Lexicon) -> str:
    for start in range(len(words)):
        for end in range(start + 1, min(start + 3, len(words)) + 1):
            key = "".join(words[start : end - 1]) + stem(words[end - 1])
            if key in lexicon.contexts:
                return " ".join(words[start:end])
    return ""


def _negator_before(match: Match, words: list[str], lexicon: Lexicon) -> str:
    """The negating word before a match, unless what it negates is a failure ("must not break")."""
    before = words[max(0, match.start - NEGATION_REACH) : match.start]
    if "," in before:
        before = before[len(before) - before[::-1].index(",") :]
    negators = [place for place, word in enumerate(before) if stem(word) in lexicon.lists["negators"]]
    if len(negators) != 1:
        return ""
    between = before[negators[0] + 1 :]
    after = words[match.end :]
    if any(stem(word) in lexicon.lists["failures"] for word in between):
        return ""
    if any(stem(word) in lexicon.lists["negators"] for word in after):
        return ""
    return before[negators[0]]


def _thing_beside(match: Match, words: list[str], lexicon: Lexicon) -> str:
    """A thing that only stores, guides or marks the danger: behind it ("helmet hook") or before ("hook for a helmet")."""
    beside = lexicon.rows[match.row].beside
    if not beside:
        return ""
    stops = lexicon.lists["stops"]
    for word in words[match.end : match.end + BESIDE_REACH + 1]:
        if stem(word) in beside:
            return word
        if word == "," or stem(word) in stops:
            break
    return _thing_before(match.start, words, beside, lexicon)


def _thing_before(start: int, words: list[str], beside: frozenset[str], lexicon: Lexicon) -> str:
    links, stops = lexicon.lists["links"], lexicon.lists["breaks"]
    linked = False
    for word in reversed(words[max(0, start - LINK_REACH) : start]):
        if stem(word) in links:
            linked = True
        elif linked:
            return word if stem(word) in beside else ""
        elif word == "," or stem(word) in stops:
            return ""
    return ""
