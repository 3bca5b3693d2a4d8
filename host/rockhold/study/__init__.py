"""What the measuring itself can do: several people measure several wheel ends several times."""
