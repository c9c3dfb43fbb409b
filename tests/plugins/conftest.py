from conftest_pipeline import small, studio

__all__ = ["small", "studio"]
