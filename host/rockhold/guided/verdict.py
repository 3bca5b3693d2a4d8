"""The verdict over all steps of a job, in words. Never permission to drive."""

from rockhold.guided.history import History


def verdict_lines(history: History, stopped: bool) -> list[str]:
    """Return the job's outcome: every step that is not done is named."""
    points = history.open_points()
    total = len(history.needed())
    if not points:
        return [
            f"Steps: all {total} done.",
            "That is a record of work, not permission to drive: the maker's instructions, the "
            "fleet's rules and the law decide.",
        ]
    lines = [f"Steps: {total - len(points)} of the {total} of this job are done. NOT FINISHED:"]
    lines += [f"  {step.title}: {words}" for step, words in points]
    if stopped:
        lines.append("The job was stopped before its end.")
    lines.append("A wheel end with a step that failed or was left out does not go on the road.")
    return lines
