"""One invented aircraft and case through all ten stages, and two more as files. Everything in here is made up."""
