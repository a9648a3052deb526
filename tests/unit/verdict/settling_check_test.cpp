// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/settling_check.h"

#include "clock_under_test.h"
#include "support/approx.h"

using namespace clockassay;

namespace {

/// 10 MHz known to 1 ppm, seen from 0 to 10 ms in points of 1 ms that are each
/// known to 2 ppm and off by nothing.
FrequencyHistory steady() {
  FrequencyHistory history;
  history.final_frequency = Hertz(10e6);
  history.final_half_width = Hertz(10.0);
  for (int i = 0; i < 10; ++i) {
    history.course.push_back(
        {Seconds(1e-3 * i), Seconds(1e-3 * (i + 1)), Hertz(10e6), Hertz(20.0)});
  }
  return history;
}

/// The same, off by `ppm` in the millisecond that begins at `ms`.
FrequencyHistory off_at(std::size_t ms, double ppm) {
  FrequencyHistory history = steady();
  history.course[ms].frequency = Hertz(10e6 * (1.0 + 1e-6 * ppm));
  return history;
}

/// A clock of ±30 ppm that has 5 ms to settle.
ClockSpec five_ms() {
  ClockSpec clock = clock_of("10MHz", "30ppm");
  clock.settle_within_s = *Rational::make(5, 1000);
  return clock;
}

Decision decision_on(const FrequencyHistory& history) {
  return check_settling(five_ms(), history).check.decision;
}

}  // namespace

TEST_CASE("settled_after: the end of the last part that is off") {
  // 2 ppm of the part and 1 ppm of the final frequency are not known: 3.1 ppm
  // is off, 2.9 ppm is not; of 30 ppm allowed, 29 is not either.
  CHECK(settled_after(off_at(3, 3.1), 0.0)->value() == testing::approx(4e-3));
  CHECK(settled_after(off_at(3, -3.1), 0.0)->value() == testing::approx(4e-3));
  CHECK(settled_after(off_at(3, 2.9), 0.0)->value() == 0.0);
  CHECK(settled_after(off_at(3, 29.0), 30.0)->value() == 0.0);
  CHECK(settled_after(off_at(3, 31.0), 30.0)->value() == testing::approx(4e-3));
}

TEST_CASE("settled_after: never, when the last part is off or none was seen") {
  CHECK_FALSE(settled_after(off_at(9, 100.0), 0.0));
  CHECK_FALSE(settled_after(FrequencyHistory{}, 0.0));
}

TEST_CASE("last_unsettled: of parts that begin together the shortest counts") {
  FrequencyHistory history = off_at(3, 100.0);
  CoursePoint longer = history.course[3];
  longer.to = Seconds(8e-3);
  history.course.push_back(longer);
  CHECK(settled_after(history, 30.0)->value() == testing::approx(4e-3));
  // One that begins later and lasts longer says that it went on.
  history.course.back().from = Seconds(3.5e-3);
  CHECK(settled_after(history, 30.0)->value() == testing::approx(8e-3));
}

TEST_CASE("check_settling: a change before the time passes, one after fails") {
  const SettlingResult passed = check_settling(five_ms(), off_at(4, 500.0));
  CHECK(passed.check.decision == Decision::kPass);
  CHECK(passed.check.check == "settling");
  CHECK(passed.check.unit == "s");
  CHECK(*passed.check.value == testing::approx(5e-3));
  CHECK(*passed.check.high == testing::approx(5e-3));
  CHECK_FALSE(passed.check.low);
  CHECK(passed.reason ==
        "The clock has to settle within 0.005 s; it kept to the frequency it "
        "ended with from 0.005 s on, as means over 0.001 s show; what was "
        "shorter is not seen.");
  const SettlingResult failed = check_settling(five_ms(), off_at(6, 500.0));
  CHECK(failed.check.decision == Decision::kFail);
  CHECK(*failed.check.value == testing::approx(7e-3));
  CHECK(failed.reason ==
        "The clock has to settle within 0.005 s; between 0.006 s and 0.007 s "
        "it ran 500.0 ppm above the frequency it ended with.");
  CHECK(decision_on(off_at(9, -500.0)) == Decision::kFail);
  CHECK(decision_on(steady()) == Decision::kPass);
}

TEST_CASE("check_settling: what is less than the tolerance fails nothing") {
  // 2 ppm of the part and 1 ppm of the final frequency are not known.
  CHECK(decision_on(off_at(6, 26.5)) == Decision::kPass);
  CHECK(decision_on(off_at(6, 27.5)) == Decision::kUndecided);
  CHECK(decision_on(off_at(6, 31.0)) == Decision::kFail);
}

TEST_CASE("check_settling: parts that are not known show nothing") {
  // 30 ppm are allowed: parts of 1 ms known to 26 ppm, beside 1 ppm of the
  // final frequency, show it, those known to 40 ppm do not.
  FrequencyHistory history = steady();
  for (CoursePoint& p : history.course) p.most_off = Hertz(260.0);
  CHECK(decision_on(history) == Decision::kPass);
  history.course[7].frequency = Hertz(10e6 + 50.0);  // 5 + 26 + 1 ppm
  CHECK(decision_on(history) == Decision::kUndecided);
  for (CoursePoint& p : history.course) p.most_off = Hertz(400.0);
  CHECK(decision_on(history) == Decision::kUndecided);
  // One long part shows what it shows: means over its 5.5 ms.
  history.course.push_back(
      {Seconds(4.5e-3), Seconds(10e-3), Hertz(10e6), Hertz(100.0)});
  const SettlingResult passed = check_settling(five_ms(), history);
  CHECK(passed.check.decision == Decision::kPass);
  CHECK(passed.reason.find("means over 0.0055 s show") != std::string::npos);
  // Not where it leaves the first moments after the time out.
  history.course.back().from = Seconds(5.1e-3);
  CHECK(decision_on(history) == Decision::kUndecided);
}

TEST_CASE("check_settling: a part across the time decides nothing") {
  FrequencyHistory history = off_at(4, 500.0);
  history.course[4].to = Seconds(5.5e-3);
  CHECK(decision_on(history) == Decision::kUndecided);
}

TEST_CASE("check_settling: a jump of the phase alone fails nothing") {
  // The part of 6 to 7 ms has a break within it; the next one has not.
  FrequencyHistory history = off_at(6, 500.0);
  history.breaks = {{Seconds(6.4e-3), Seconds(6.5e-3), "the phase jumped"}};
  const SettlingResult open = check_settling(five_ms(), history);
  CHECK(open.check.decision == Decision::kUndecided);
  CHECK(open.reason ==
        "The clock has to settle within 0.005 s; between 0.006 s and 0.007 s "
        "it ran 500.0 ppm above the frequency it ended with, or its phase "
        "jumped there.");
  history.course[5].frequency = Hertz(10e6 * (1.0 + 500e-6));
  CHECK(decision_on(history) == Decision::kFail);
}

TEST_CASE("check_settling: a course that is not seen decides nothing") {
  FrequencyHistory history = steady();
  history.course.clear();
  const SettlingResult open = check_settling(five_ms(), history);
  CHECK(open.check.decision == Decision::kUndecided);
  CHECK(open.reason ==
        "The clock has to settle within 0.005 s; it is seen for too few cycles "
        "to say how its frequency went.");
}

TEST_CASE("check_settling: any break after the time forbids a pass") {
  FrequencyHistory history = steady();
  history.breaks = {{Seconds(1e-3), Seconds(2e-3), "the clock stopped"}};
  CHECK(decision_on(history) == Decision::kPass);
  // Over at the time is over before it.
  history.breaks[0].to = Seconds(5e-3);
  CHECK(decision_on(history) == Decision::kPass);
  history.breaks[0].to = Seconds(5.1e-3);
  const SettlingResult open = check_settling(five_ms(), history);
  CHECK(open.check.decision == Decision::kUndecided);
  CHECK(open.reason ==
        "The clock has to settle within 0.005 s; later than that something "
        "changed: the clock stopped, between 0.001 s and 0.0051 s.");
}

TEST_CASE("check_settling: a clock not looked at in time is undecided") {
  FrequencyHistory history = steady();
  history.seen_from = Seconds(6e-3);
  CHECK(decision_on(history) == Decision::kUndecided);
}

TEST_CASE("check_settling: a final frequency not known shows nothing") {
  // 4 kHz of 10 MHz are 400 ppm, and 30 are allowed.
  FrequencyHistory history = steady();
  history.final_half_width = Hertz(4000.0);
  const SettlingResult result = check_settling(five_ms(), history);
  CHECK(result.check.decision == Decision::kUndecided);
  CHECK(result.reason ==
        "The clock has to settle within 0.005 s; the frequency it ended with "
        "is known to 400 ppm, and 30 ppm are allowed.");
  // 31 ppm are too much, and so are 29 with 2 of the parts; 27 are not.
  history.final_half_width = Hertz(310.0);
  CHECK(decision_on(history) == Decision::kUndecided);
  history.final_half_width = Hertz(290.0);
  CHECK(decision_on(history) == Decision::kUndecided);
  history.final_half_width = Hertz(270.0);
  CHECK(decision_on(history) == Decision::kPass);
}

TEST_CASE(
    "check_settling: what the capture's own time may do decides nothing") {
  // 3 ppm are not known anyhow, and twice the wander more: 103 ppm.
  FrequencyHistory history = off_at(7, 104.0);
  history.time_wander = Ppm(50.0);
  CHECK(decision_on(history) == Decision::kFail);
  history = off_at(7, 102.0);
  CHECK(decision_on(history) == Decision::kFail);
  history.time_wander = Ppm(50.0);
  const SettlingResult open = check_settling(five_ms(), history);
  CHECK(open.check.decision == Decision::kUndecided);
  CHECK(open.reason ==
        "The clock has to settle within 0.005 s; by the reference the "
        "capture's own time takes two parts up to 100 ppm apart, and 30 ppm "
        "are allowed.");
  // 32 ppm hide what is not allowed, 26 and the 3 ppm do not.
  history = steady();
  history.time_wander = Ppm(16.0);
  CHECK(decision_on(history) == Decision::kUndecided);
  history.time_wander = Ppm(13.0);
  CHECK(decision_on(history) == Decision::kPass);
}

TEST_CASE("judge_clock: settling decides with the other checks") {
  ClockEvidence evidence = evidence_of(10e6, 1.0);
  evidence.history = steady();
  CHECK(judge_clock(five_ms(), {}, evidence).decision == Decision::kPass);
  evidence.history = off_at(7, 500.0);
  const Verdict failed = judge_clock(five_ms(), {}, evidence);
  CHECK(failed.decision == Decision::kFail);
  CHECK(failed.checks.back().check == "settling");
  CHECK(failed.causes.empty());
  evidence.history = steady();
  evidence.history.seen_from = Seconds(6e-3);
  CHECK(judge_clock(five_ms(), {}, evidence).decision == Decision::kUndecided);
  // Not asked for, not judged.
  CHECK(judge_clock(clock_of("10MHz", "30ppm"), {}, evidence).checks.size() ==
        1);
}
