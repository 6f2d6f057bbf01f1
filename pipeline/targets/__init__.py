"""Standard targets shipped as data; what a club or association sets itself comes first."""
