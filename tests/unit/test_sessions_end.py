"""Sessions end by time, by signing out and by another passphrase; wrong words are slowed down. No clock is read."""

from __future__ import annotations

from vanewise.web.sessions import IDLE_S, LONGEST_S, MOST, Sessions, Throttle


def test_a_session_holds_while_it_is_used_and_ends_after_a_pause():
    sessions = Sessions()
    token = sessions.begin("mark", 0.0)
    assert sessions.holds(token, "mark", IDLE_S)
    assert sessions.holds(token, "mark", 2 * IDLE_S)
    assert not sessions.holds(token, "mark", 3 * IDLE_S + 1.0)
    assert not sessions.holds(token, "mark", 3 * IDLE_S + 1.0), "an ended session does not come back"


def test_a_session_ends_at_the_latest_after_a_day_of_work_however_busy():
    sessions = Sessions()
    token = sessions.begin("mark", 0.0)
    now = 0.0
    while now < LONGEST_S:
        assert sessions.holds(token, "mark", now)
        now += IDLE_S / 2
    assert not sessions.holds(token, "mark", LONGEST_S + 1.0)


def test_another_passphrase_or_signing_out_ends_it():
    sessions = Sessions()
    first, second = sessions.begin("mark", 0.0), sessions.begin("mark", 0.0)
    sessions.end(first)
    assert not sessions.holds(first, "mark", 1.0)
    assert not sessions.holds(second, "another", 1.0)
    assert not sessions.holds("made up", "mark", 1.0)


def test_the_memory_of_sessions_has_an_end():
    sessions = Sessions()
    tokens = [sessions.begin("mark", 0.0) for _ in range(MOST + 1)]
    assert not sessions.holds(tokens[0], "mark", 1.0)
    assert sessions.holds(tokens[-1], "mark", 1.0)


def tries_within(seconds: float, throttle: Throttle, address: str) -> int:
    """How often a machine that never tires gets to try."""
    now, tries = 0.0, 0
    while True:
        now += throttle.wait_s(address, now)
        if now >= seconds:
            return tries
        throttle.wrong(address, now)
        tries += 1


def test_a_person_who_mistypes_does_not_wait():
    throttle = Throttle()
    for _ in range(Throttle.FREE - 1):
        throttle.wrong("a", 0.0)
    assert throttle.wait_s("a", 0.0) == 0


def test_waits_double_and_are_for_one_address_only():
    throttle = Throttle()
    waits = []
    now = 0.0
    for _ in range(Throttle.FREE + 4):
        throttle.wrong("a", now)
        waits.append(throttle.wait_s("a", now))
        now += waits[-1]
    assert waits == [0, 0, 0, 0, 10, 20, 40, 80, 160]
    assert throttle.wait_s("b", now) == 0
    throttle.right("a")
    assert throttle.wait_s("a", now) == 0


def test_a_machine_gets_few_tries_a_day():
    # 5 at once, then 10, 20, ... 640 s, then one in 15 minutes.
    assert tries_within(24 * 3600.0, Throttle(), "a") < 110


def test_many_addresses_together_have_a_limit():
    throttle = Throttle()
    for number in range(Throttle.TOGETHER):
        assert throttle.wait_s(f"address {number}", 1.0) == 0
        throttle.wrong(f"address {number}", 1.0)
    assert throttle.wait_s("a fresh one", 2.0) > 500
    assert throttle.wait_s("a fresh one", 1.0 + Throttle.TOGETHER_S) == 0
