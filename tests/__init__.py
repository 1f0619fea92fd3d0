"""Tests in folders named as the rooms of `scheduler/`; `stories/` are told across rooms, `fixtures/` are files of older versions."""
