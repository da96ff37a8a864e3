"""The project package, and what every page shares: cars, systems, people, photos, paper."""
