"""Training of the network of `ingest.stroke_chances`, on concerts rendered for it."""
