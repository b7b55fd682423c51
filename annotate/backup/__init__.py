"""An archive in one file, and back: what cannot be made again, each file with its digest.

The file is a plain ZIP whose members are stored as they are (Parquet and Opus are compressed already), so that any
program opens it; the last member, ``layakosh-backup.json``, tells the length and SHA-256 of every other. Nothing of a
backup is put in place before all of it has been held against its digests.

References
----------
"APPNOTE.TXT: .ZIP File Format Specification", version 6.3.10 (2022). "Secure Hash Standard", FIPS PUB 180-4 (2015).
"""
