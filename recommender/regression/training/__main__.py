"""Refit the regression from the tables, or judge it again: ``python -m recommender.regression.training --refit``.

``--refit`` writes record.json and held_out.json; without it the comparison with the rivals is printed.
"""

from __future__ import annotations

import argparse
import json

from kb.loading import load_knowledge_base
from recommender.regression.coupons import load_coupons
from recommender.regression.record import RECORD_FILE, written
from recommender.regression.scores import HELD_OUT_FILE
from recommender.regression.training.comparison import (
    compared,
    comparison_text,
    floor_of,
    floor_text,
    held_out_columns,
    study_known_text,
    summary,
    terms_text,
)
from recommender.regression.training.evidence import Evidence
from recommender.regression.training.recording import fitted_to_all, plain_record
from recommender.regression.training.spools import learning_from_three


def main() -> None:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m recommender.regression.training", description=__doc__)
    parser.add_argument("--refit", action="store_true", help="write record.json and held_out.json")
    arguments = parser.parse_args()
    evidence = Evidence(load_coupons(), load_knowledge_base())
    found = compared(evidence, with_learners=not arguments.refit)
    texts = (comparison_text(evidence, found), floor_text(evidence, found), study_known_text(evidence, found))
    print(*texts, terms_text(evidence), sep="\n\n")
    if arguments.refit:
        rows = evidence.all.where(evidence.all.fitted)
        model = fitted_to_all(evidence)
        columns = held_out_columns(evidence, found)
        judged = {
            **summary(columns),
            "other spools of the same study": floor_of(evidence, found),
            "three bars of the same spool": learning_from_three(evidence),
        }
        RECORD_FILE.write_text(written(plain_record(model, rows, judged)), encoding="utf-8")
        HELD_OUT_FILE.write_text(
            "{\n" + ",\n".join(f" {json.dumps(k)}: {json.dumps(v)}" for k, v in columns.items()) + "\n}\n",
            encoding="utf-8",
        )
        print(f"Wrote {RECORD_FILE.name} and {HELD_OUT_FILE.name}.")


if __name__ == "__main__":
    main()
