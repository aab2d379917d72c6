"""Structure of a tagged PDF (ISO 32000-1, 14.7 and 14.8): elements, marked content, the way back from it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas


@dataclass
class _Element:
    role: str
    key: str
    alt: str = ""
    children: list[_Element | int] = field(default_factory=list)
    reference: Any = None

    def child(self, role: str, key: str) -> _Element:
        """The last child if it is this very element (an item goes on with it), else a new one."""
        last = self.children[-1] if self.children else None
        if isinstance(last, _Element) and key and (last.role, last.key) == (role, key):
            return last
        made = _Element(role, key)
        self.children.append(made)
        return made


@dataclass
class Structure:
    """Collects the structure of a one-page document while it is drawn on `canvas`."""

    canvas: Canvas
    root: _Element = field(default_factory=lambda: _Element("Document", "document"))
    owners: list[_Element] = field(default_factory=list)

    @contextmanager
    def marked(self, path: tuple[tuple[str, str], ...], role: str, alt: str = "") -> Iterator[None]:
        """What is drawn inside belongs to a new element `role` under `path`."""
        holder = self.root
        for outer_role, key in path:
            holder = holder.child(outer_role, key)
        element = holder.child(role, "")
        element.alt = alt
        number = len(self.owners)
        element.children.append(number)
        self.owners.append(element)
        self._code(f"/{role} <</MCID {number}>> BDC")
        yield
        self._code("EMC")

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is drawn inside is decoration and is not read aloud."""
        self._code("/Artifact BMC")
        yield
        self._code("EMC")

    def _code(self, operator: str) -> None:
        self.canvas._code.append(operator)

    def finish(self, language: str) -> None:
        """Hang the structure on the document; the page must have been shown."""
        document = self.canvas._doc
        page = document.Pages.pages[-1]
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
        page.StructParents, page.Tabs = 0, pdfdoc.PDFName("S")
        tree = pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("StructTreeRoot")})
        tree_reference = document.Reference(tree)
        top = self._written(self.root, tree_reference, document.Reference(page))
        back = pdfdoc.PDFArray([owner.reference for owner in self.owners])
        parents = pdfdoc.PDFDictionary({"Nums": pdfdoc.PDFArray([0, document.Reference(back)])})
        tree.dict.update(K=top, ParentTree=document.Reference(parents), ParentTreeNextKey=1)
        catalog = document.Catalog
        catalog.StructTreeRoot = tree
        catalog.MarkInfo = pdfdoc.PDFDictionary({"Marked": "true"})
        catalog.Lang = pdfdoc.PDFString(language)

    def _written(self, element: _Element, parent: Any, page: Any) -> Any:
        entries: dict[str, Any] = {
            "Type": pdfdoc.PDFName("StructElem"),
            "S": pdfdoc.PDFName(element.role),
            "P": parent,
            "Pg": page,
        }
        if element.alt:
            entries["Alt"] = pdfdoc.PDFString(element.alt)
        written = pdfdoc.PDFDictionary(entries)
        element.reference = self.canvas._doc.Reference(written)
        kids = [
            self._written(child, element.reference, page) if isinstance(child, _Element) else child
            for child in element.children
        ]
        written.dict["K"] = pdfdoc.PDFArray(kids)
        return element.reference
