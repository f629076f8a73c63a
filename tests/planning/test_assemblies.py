from maintenance.planning.assemblies import choose_assemblies
from maintenance.planning.build_rules import AssemblyRule
from maintenance.planning.jobs import Part
from maintenance.planning.rules import JobRules, StandardJob
from maintenance.planning.wanted import Fitted, Wanted

RULES = JobRules(
    standard_jobs=(
        StandardJob("arm", "renew", 1.5, "x"),
        StandardJob("bush", "renew", 2.0, "x"),
        StandardJob("boot", "renew", 1.0, "x"),
    ),
    assemblies=(AssemblyRule("arm", ("bush", "boot"), "they come pressed in", "common practice"),),
)
LEFT = "front left"
BUSH = Wanted("bush", LEFT, "renew", "bush 1", "safety")
BOOT = Wanted("boot", LEFT, "renew", "boot 1")


def offers(bush: int, arm: int, available: bool = True):
    return {
        ("bush", LEFT): (Part("bush", bush, available=available),),
        ("boot", LEFT): (Part("boot", 500),),
        ("arm", LEFT): (Part("arm", arm),),
    }


def test_an_arm_that_is_cheaper_than_its_pieces_is_bought_and_clears_them():
    # Pieces 2000 + 500 and three hours at 1000; arm 3500 and an hour and a half.
    wanted, choices = choose_assemblies([BUSH, BOOT], RULES, offers(2000, 3500), 1000)

    assert [(w.kind, w.clears, w.criticality) for w in wanted] == [
        ("arm", ("bush 1", "boot 1"), "safety")
    ]
    assert (choices[0].pieces_cost, choices[0].assembly_cost) == (5500, 5000)
    assert "is cheaper than bush, boot" in choices[0].words


def test_an_arm_that_is_dearer_leaves_the_pieces_and_says_so():
    wanted, choices = choose_assemblies([BUSH], RULES, offers(2000, 9000), 1000)

    assert wanted == (BUSH,)
    assert not choices[0].chosen
    assert "no dearer" in choices[0].words


def test_a_bush_sold_only_with_its_arm_leaves_no_choice():
    wanted, choices = choose_assemblies([BUSH], RULES, offers(2000, 90000, available=False), 1000)

    assert [w.kind for w in wanted] == ["arm"]
    assert choices[0].only_way
    assert "only way" in choices[0].words


def test_an_arm_wanted_anyway_takes_its_pieces_with_it():
    arm = Wanted("arm", LEFT, "renew", "arm 1", "safety")
    wanted, _ = choose_assemblies([arm, BUSH], RULES, {}, 1000)

    assert [(w.component, w.clears) for w in wanted] == [("arm 1", ("bush 1",))]


def test_the_arm_of_the_other_side_does_not_bring_this_bush():
    other = {("arm", "front right"): (Part("arm", 1),)}
    wanted, choices = choose_assemblies([BUSH], RULES, other, 1000)

    assert wanted == (BUSH,)
    assert choices == ()


def test_an_inspection_of_a_bush_is_not_settled_by_an_assembly():
    look = Wanted("bush", LEFT, "inspect", "bush 1")
    wanted, _ = choose_assemblies([look], RULES, offers(2000, 1), 1000)

    assert wanted == (look,)


def test_a_piece_on_record_as_part_of_the_arm_comes_with_it_wherever_it_is_said_to_be():
    car = [Fitted("arm 1", "arm", LEFT), Fitted("boot 1", "boot", "outer end", "arm 1")]
    arm = Wanted("arm", LEFT, "renew", "arm 1", "safety")
    boot = Wanted("boot", "outer end", "renew", "boot 1")
    wanted, _ = choose_assemblies([arm, boot], RULES, {}, fitted=car)

    assert [(w.component, w.clears) for w in wanted] == [("arm 1", ("boot 1",))]


def test_a_piece_of_a_piece_comes_with_the_whole():
    inner = Fitted("bush 1", "bush", "inner end", "arm 1")
    car = [Fitted("arm 1", "arm", LEFT), inner, Fitted("boot 1", "boot", "end", "bush 1")]
    arm = Wanted("arm", LEFT, "renew", "arm 1", "safety")
    wanted, _ = choose_assemblies(
        [arm, Wanted("boot", "end", "renew", "boot 1")], RULES, {}, fitted=car
    )

    assert [w.component for w in wanted] == ["arm 1"]


def test_a_piece_on_record_as_part_of_another_arm_stays():
    car = [Fitted("arm 2", "arm", "rear left"), Fitted("boot 1", "boot", LEFT, "arm 2")]
    arm = Wanted("arm", LEFT, "renew", "arm 1", "safety")
    wanted, _ = choose_assemblies([arm, BOOT], RULES, {}, fitted=car)

    assert BOOT in wanted


def test_an_arm_bought_for_its_bush_is_the_one_that_the_car_has():
    car = [Fitted("arm 1", "arm", LEFT), Fitted("bush 1", "bush", LEFT, "arm 1")]
    wanted, _ = choose_assemblies([BUSH], RULES, offers(2000, 1), 1000, car)

    assert [w.component for w in wanted] == ["arm 1"]
