"""Tests that drive the pages in Chromium."""
