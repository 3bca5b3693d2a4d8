"""The guided job: one step after the other, what the person says, what the instruments show."""
