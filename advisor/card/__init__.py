"""Lesson cards: one lesson, one hour, one stage, worked out and ready to be drawn. No drawing happens here."""

from advisor.card.build import lesson_card
from advisor.card.model import LessonCard

__all__ = ["LessonCard", "lesson_card"]
