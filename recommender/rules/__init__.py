"""Refusals and cautions: triggers as data, one small evaluator over the whole duty sheet.

The rules are rows of ``kb/gates`` (refusals) and ``kb/cautions``; what their triggers may name stands in
``kb/vocabulary``; the words that free text is read for in ``kb/danger_words`` and ``kb/text_words``; how hot places
get in ``kb/heat_exposures``. To add a rule, add its row and, in ``tests/rules/firing.yaml``, a sheet for which it
fires and one for which it stays silent; ``PYTHONPATH=. python tests/rules/firing_table.py`` shows the whole table.

Policy on what is not known:

- a refusal whose trigger hangs on a fact that nobody stated refuses and asks for that fact (``if_unknown: refuse``),
  unless another rule looks after it (``pass``);
- a caution speaks on an unknown fact only where its row says ``if_unknown: speak``;
- who could be hurt: left out counts as minor injury (shown as an assumption), ``unknown`` refuses, serious injury
  and death refuse; a load above people with the consequence left out refuses;
- what the text names, a field or a statement under ``facts:`` never takes away; the worse of two wins.
"""
