"""The safety note: one content model (:mod:`content`), one page in PDF, HTML, Markdown and plain text.

``compose`` makes a :class:`content.Note` of a duty sheet and its answer; the renderers know nothing of duties.
"""
