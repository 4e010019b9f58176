"""Templates place finished text: they loop over tuples, test bools, include, print strings and numbers."""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from jinja2 import nodes

from paramc.emit.bench_view import BenchView
from paramc.emit.header_view import HeaderView
from paramc.emit.picture import PictureView
from paramc.emit.source_view import SourceView
from paramc.emit.templating import TEMPLATES, environment, prefixed

FILES = sorted(file.name for file in TEMPLATES.iterdir())
VIEWS: dict[str, type] = {
    "header.h.j2": HeaderView, "bench.c.j2": BenchView, "curve.svg.j2": PictureView,
}  # fmt: skip
ALLOWED = (
    nodes.Template, nodes.Output, nodes.TemplateData, nodes.Name, nodes.Getattr, nodes.For, nodes.If,
    nodes.Include, nodes.Const,
)  # fmt: skip


def faults(text: str, view: type) -> Iterator[str]:
    """What a template does beyond placing text, and what it expects that its view does not have."""
    tree = environment("p").parse(text)
    for node in tree.find_all(nodes.Node):
        if not isinstance(node, ALLOWED):
            yield f"line {node.lineno}: {type(node).__name__}"
    yield from _body(tree.body, {"v": view})


def _body(body: list[nodes.Node], names: dict[str, Any]) -> Iterator[str]:
    for node in body:
        match node:
            case nodes.Output():
                for part in node.nodes:
                    if not isinstance(part, nodes.TemplateData) and _type(part, names) not in (str, int):
                        yield f"line {node.lineno}: prints {_type(part, names)}"
            case nodes.For():
                inner = _type(node.iter, names)
                if get_origin(inner) is not tuple or get_args(inner)[1:] != (...,):
                    yield f"line {node.lineno}: loops over {inner}"
                elif (
                    node.else_
                    or node.test is not None
                    or node.recursive
                    or not isinstance(node.target, nodes.Name)
                ):
                    yield f"line {node.lineno}: a loop with more than a name and a body"
                else:
                    yield from _body(node.body, {**names, node.target.name: get_args(inner)[0]})
            case nodes.If():
                for test in (node, *node.elif_):
                    if _type(test.test, names) is not bool:
                        yield f"line {node.lineno}: tests {_type(test.test, names)}"
                    yield from _body(test.body, names)
                yield from _body(node.else_, names)
            case nodes.Include():
                if not isinstance(node.template, nodes.Const) and _type(node.template, names) is not str:
                    yield f"line {node.lineno}: includes {_type(node.template, names)}"
                elif isinstance(node.template, nodes.Const) and node.template.value not in FILES:
                    yield f"line {node.lineno}: includes {node.template.value}"
            case other:
                yield f"line {other.lineno}: {type(other).__name__}"


def _type(node: nodes.Node, names: dict[str, Any]) -> Any:
    """The type of a view's attribute; None where there is no such thing."""
    if isinstance(node, nodes.Name):
        return names.get(node.name)
    if isinstance(node, nodes.Getattr):
        owner = _type(node.node, names)
        return get_type_hints(owner).get(node.attr) if is_dataclass(owner) else None
    return None


@pytest.mark.parametrize("name", [name for name in FILES if name.endswith(".j2")])
def test_templates_only_place_text(name: str) -> None:
    text = (TEMPLATES / name).read_text(encoding="utf-8")
    assert list(faults(text, VIEWS.get(name, SourceView))) == []


@pytest.mark.parametrize("name", FILES)
def test_every_name_of_a_template_takes_the_prefix(name: str) -> None:
    text = prefixed((TEMPLATES / name).read_text(encoding="utf-8"), "lc")
    assert re.findall(r"\b[pP]_\S*", text) == []


@pytest.mark.parametrize("name", [name for name in FILES if not name.endswith(".j2")])
def test_other_files_are_plain_c(name: str) -> None:
    text = (TEMPLATES / name).read_text(encoding="utf-8")
    assert name.endswith(".c")
    assert not any(mark in text for mark in ("{{", "{%", "{#"))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("{{ v.build | upper }}", "Filter"),
        ("{{ v.build.upper() }}", "Call"),
        ("{% set x = 1 %}", "Assign"),
        ("{{ v.tested + 1 }}", "Add"),
        ("{% if v.tested > 1 %}{% endif %}", "Compare"),
        ("{% if not v.trial %}{% endif %}", "Not"),
        ("{% if v.tested %}{% endif %}", "tests <class 'int'>"),
        ("{% if v.build %}{% endif %}", "tests <class 'str'>"),
        ("{% for x in v.build %}{% endfor %}", "loops over <class 'str'>"),
        ("{% for x in v.rows %}{{ x }}{% endfor %}", "prints <class 'paramc.emit.source_view.RowView'>"),
        ("{{ v.trial }}", "prints <class 'bool'>"),
        ("{{ v.nothing_such }}", "prints None"),
        ("{{ other }}", "prints None"),
        ("{% macro m() %}{% endmacro %}", "Macro"),
        ("{% include 'nowhere.j2' %}", "includes nowhere.j2"),
    ],
)
def test_a_template_that_is_a_program_is_seen(text: str, fault: str) -> None:
    assert any(fault in found for found in faults(text, SourceView))


def test_views_are_frozen_strings_numbers_and_bools() -> None:
    seen: set[type] = set()

    def check(view: type) -> None:
        if view in seen:
            return
        seen.add(view)
        assert view.__setattr__ is not object.__setattr__ and "__slots__" in vars(view), view
        hints = get_type_hints(view)
        for field in fields(view):
            hint = hints[field.name]
            inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
            assert not isinstance(inner, types.UnionType), (view, field.name)
            if is_dataclass(inner):
                check(inner)  # type: ignore[arg-type]
            else:
                assert inner in (str, int, bool), (view, field.name)

    check(HeaderView)
    check(SourceView)
    check(PictureView)
    check(BenchView)
    assert len(seen) > 10


def test_the_prefix_of_templates_becomes_the_products() -> None:
    assert (
        prefixed("p_open(P_SOUND, p_look *x, sp_p_ P_ p_) p_{{ a }} P_{{ b }}", "lc")
        == "lc_open(LC_SOUND, lc_look *x, sp_p_ P_ p_) lc_{{ a }} LC_{{ b }}"
    )
