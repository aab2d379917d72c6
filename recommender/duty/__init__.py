"""The duty sheet: what a part must do, in plain words with units, checked before anything is computed."""
