"""Frames to pages."""
