"""``python -m recommender.cli`` does what ``partduty`` does."""

from recommender.cli import main

main()
