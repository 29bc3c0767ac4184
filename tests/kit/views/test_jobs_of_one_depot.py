"""The list of jobs, narrowed to a depot as the register is: only if it is one's own."""

from django.urls import reverse

from tests.kit.views.holm import Yard


def test_the_list_of_jobs_is_narrowed_to_one_of_ones_depots(yard: Yard):
    yard.appoint("sal", yard.weir, "crew")
    pattern = yard.arrangement()
    yard.plan("H-JOB", pattern)
    yard.plan("W-JOB", pattern, depot=yard.weir)

    def listed(who: str, depot: str) -> list[str]:
        table = yard.client(who).get(reverse("jobs"), {"depot": depot}).context["table"]
        return [row.record.reference for row in table.rows]

    assert listed("sal", "Weir") == ["W-JOB"]
    assert listed("sal", "Holm") == ["H-JOB"]
    assert listed("pat", "Weir") == ["H-JOB"]
