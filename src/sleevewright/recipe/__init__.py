"""Recipes: YAML with places, schema, expressions, binding to one block and size."""

from sleevewright.recipe.binding import BoundRecipe, BoundStep, bind
from sleevewright.recipe.schema import OutputSettings, Recipe, recipe_schema

__all__ = ["BoundRecipe", "BoundStep", "OutputSettings", "Recipe", "bind", "recipe_schema"]
