"""The invented collection shows how long animals live, and the page says what another program says of the same rows."""

from datetime import date

import numpy as np
import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import TestCase
from django.urls import reverse

from collection import forecasts, lifetable, lives
from collection.lives import Asked
from collection.models import Death, Forecast, Specimen
from collection.survival import LogRank
from config.demo import load
from tests.reference import judges

TODAY = date(2026, 11, 25)
NOW = "2026-11-25T12:00:00+00:00"


def ages():
    """Entry, exit and death of every single animal whose hatching is known, read anew from the rows."""
    rows = []
    for one in Specimen.objects.filter(kind="single", hatched_earliest__isnull=False).select_related("death"):
        death, left = getattr(one, "death", None), one.departures.filter(back_on__isnull=True).first()
        gone = death.when.middle if death else left.on if left else TODAY
        born = one.hatched.middle
        rows.append((one.taxon.name, (one.acquired.middle - born).days, (gone - born).days + 1, death is not None))
    return rows


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::FutureWarning")
class DemoLives(TestCase):
    """One invented collection for all; loading takes seconds."""

    @classmethod
    def setUpTestData(cls):
        with time_machine.travel(NOW, tick=False):
            load.load(TODAY)
        cls.keeper = User.objects.create_superuser("keeper", password="clove-oak-29")

    def page(self, **asked):
        self.client.force_login(self.keeper)
        with time_machine.travel(NOW, tick=False):
            return self.client.get(reverse("collection:survival"), asked)

    def test_the_curve_on_the_page_is_that_of_lifelines(self):
        answer = self.page(by="taxon", clock="age")
        page = answer.content.decode()
        assert len(answer.context["lines"]) >= 2
        for line in answer.context["lines"]:
            rows = [row for row in ages() if row[0] == line.curve.label]
            _, entry, leaving, died = (list(column) for column in zip(*rows, strict=True))
            fitter = judges.load("lifelines").KaplanMeierFitter().fit(leaving, died, entry=entry)
            times = [row.time for _, row in line.readings]
            assert [row.share for _, row in line.readings] == pytest.approx(list(fitter.predict(times)), abs=1e-9)
            assert (line.curve.median or np.inf) == fitter.median_survival_time_
            assert all(f"{row.share * 100:.0f} %" in page for _, row in line.readings)

    def test_the_comparison_on_the_page_is_that_of_lifelines(self):
        answer = self.page(by="origin", clock="house")
        told = [line.curve for line in answer.context["lines"]]
        assert {curve.label for curve in told} == {"captive bred", "wild caught"}
        rows = [(curve.label, life.exit, bool(life.cause)) for curve in told for life in curve.lives]
        group, leaving, died = (list(column) for column in zip(*rows, strict=True))
        judge = judges.load("lifelines.statistics").multivariate_logrank_test(leaving, group, died)
        assert lifetable.say_difference(LogRank(judge.test_statistic, judge.p_value)) == answer.context["difference"]

    def test_the_causes_on_the_page_are_those_of_statsmodels(self):
        groups = lives.read(Asked(clock="house"), TODAY).groups.values()
        everybody = [life for group in groups for life in group]
        names = sorted({life.cause for life in everybody if life.cause})
        status = np.array([names.index(life.cause) + 1 if life.cause else 0 for life in everybody])
        judge = judges.load("statsmodels.duration.survfunc").CumIncidenceRight(
            np.array([life.exit for life in everybody]), status
        )
        expected = {name: judge.cinc[n][-1] for n, name in enumerate(names)}
        found = {row.cause: row.share for row in self.page(clock="house").context["causes"]}
        assert found == pytest.approx(expected, abs=1e-9)

    def test_there_is_enough_to_show(self):
        assert Death.objects.values("specimen__taxon").distinct().count() >= 5
        assert Death.objects.count() >= 20
        assert len(forecasts.outcomes_of("molt", TODAY)) > 50
        assert Forecast.objects.filter(kind="sac").exclude(outcome="").count() >= 4
