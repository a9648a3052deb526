// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/cause_evidence.h"

#include <algorithm>
#include <cmath>

#include "verdict/cause_weight.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// Chosen: what is seen that a cause asks for, what it hardly allows, and what
// it rules out but for another mistake on top.
constexpr double kSpeaksFor = 20.0;
constexpr double kSpeaksAgainst = 1.0 / 20.0;
constexpr double kExcludes = 1e-4;

// Wider than a ceramic resonator, which wanders little, too.
constexpr double kNoResonatorPpm = 11e3;

bool is_of_capture(CauseCode code) {
  switch (code) {
    case CauseCode::kAliased:
    case CauseCode::kWrongSampleRate:
    case CauseCode::kOtherChannel:
    case CauseCode::kTimebaseOff:
    case CauseCode::kSamplesLost:
      return true;
    default:
      return false;
  }
}

// What is wrong with all channels of a capture, or with none.
bool is_of_all_channels(CauseCode code) {
  return code == CauseCode::kWrongSampleRate ||
         code == CauseCode::kTimebaseOff || code == CauseCode::kSamplesLost;
}

bool is_of_source(const CauseFacts& cause) {
  return !cause.factor && !is_of_capture(cause.code) &&
         cause.code != CauseCode::kOutputAlone &&
         cause.code != CauseCode::kOtherSourceAndPath;
}

class Weighing {
 public:
  Weighing(const CauseFacts& cause, const ClockEvidence& evidence)
      : cause_(cause), evidence_(evidence) {}

  CauseEvidence weigh() {
    if (evidence_.character) weigh_character(evidence_.character->kind);
    weigh_spread();
    weigh_duty();
    weigh_timebase();
    for (const OtherClock& other : evidence_.others) weigh_other(other);
    return std::move(result_);
  }

 private:
  void add(double factor, std::string sentence) {
    result_.factor *= factor;
    result_.sentences.push_back(std::move(sentence));
  }

  bool runs_without_crystal() const {
    return cause_.code == CauseCode::kRcOscillator ||
           cause_.code == CauseCode::kNotLocked ||
           (!is_of_capture(cause_.code) && cause_.source_ppm > kNoCrystalPpm &&
            cause_.code != CauseCode::kOvertone);
  }

  bool runs_without_resonator() const {
    return runs_without_crystal() && (cause_.code == CauseCode::kNotLocked ||
                                      cause_.source_ppm > kNoResonatorPpm);
  }

  void weigh_character(CharacterKind kind) {
    switch (kind) {
      case CharacterKind::kCrystalLike:
        if (runs_without_resonator()) {
          add(kSpeaksAgainst,
              "Against it: the clock wanders as little as one "
              "of a crystal.");
        }
        return;
      case CharacterKind::kRcLike:
        if (runs_without_crystal()) {
          add(kSpeaksFor,
              "For it: the clock wanders as one without a crystal.");
        } else if (!is_of_capture(cause_.code)) {
          add(kSpeaksAgainst,
              "Against it: the clock wanders as one without a "
              "crystal.");
        }
        return;
      case CharacterKind::kSlewing:
        if (cause_.code == CauseCode::kNotLocked) {
          add(kSpeaksFor, "For it: the frequency is still on its way.");
        }
        return;
      case CharacterKind::kSpreadSpectrum:
      case CharacterKind::kPllWithSpur:
      case CharacterKind::kCannotTell:
        return;
    }
  }

  void weigh_spread() {
    if (evidence_.spread) {
      const std::string seen =
          "a modulation of " +
          number_text(evidence_.spread->rate.value() / 1e3, 4) + " kHz, " +
          ppm_text(evidence_.spread->depth.value(),
                   2.0 * evidence_.spread->depth_uncertainty.value()) +
          " ppm from end to end";
      if (cause_.code == CauseCode::kSpreadSpectrum) {
        add(kSpeaksFor * kSpeaksFor,
            "For it: the spectrum shows " + seen + ".");
      } else if (cause_.code == CauseCode::kCrystalOff ||
                 cause_.code == CauseCode::kRcOscillator) {
        add(kSpeaksAgainst,
            "Against it alone: the spectrum shows " + seen + ".");
      }
      return;
    }
    // A spur may be the line of a spread that is too weak to be called one.
    if (cause_.code == CauseCode::kSpreadSpectrum && evidence_.character &&
        evidence_.character->kind == CharacterKind::kCrystalLike) {
      add(kExcludes, "Against it: no modulation is seen.");
    }
  }

  // A pin that toggles has a duty of a half but for the driver.
  void weigh_duty() {
    if (!evidence_.duty || cause_.code != CauseCode::kPathHalved) return;
    constexpr double kTold = 0.02;  // standard, of the period
    constexpr double kDriver = 0.02;
    const DutyEstimate& duty = *evidence_.duty;
    if (duty.standard_uncertainty > kTold) return;
    const bool is_half =
        std::abs(duty.value - 0.5) <= 2.0 * duty.standard_uncertainty + kDriver;
    const std::string seen =
        "the duty is " + number_text(100.0 * duty.value, 3) + " %";
    if (is_half) {
      add(2.0, "For a toggle: " + seen + ".");
    } else {
      add(0.2, "Against a toggle: " + seen + ", not a half.");
    }
  }

  void weigh_timebase() {
    if (cause_.code == CauseCode::kWrongSampleRate &&
        evidence_.timebase.kind == TimebaseKind::kReference) {
      add(kExcludes, "Against it: the reference is in the same capture.");
    }
  }

  void weigh_other(const OtherClock& other) {
    const std::string name = "\"" + other.name + "\"";
    if (is_of_all_channels(cause_.code)) {
      weigh_common(other, name);
      return;
    }
    if (!other.same_source) {
      weigh_unrelated(other, name);
      return;
    }
    // It is they that say whether it is one source.
    if (cause_.code == CauseCode::kSourceNotShared) return;
    const bool is_shared =
        cause_.factor && *cause_.factor < other.shared_factors;
    if (!other.agrees) {
      weigh_off_alone(other, is_shared, name);
    } else if (!other.is_right) {
      weigh_off_alike(is_shared, name);
    }
    // One that agrees within a tolerance or a U wide enough to be right all the
    // same says nothing.
  }

  // The instrument's time is in all of them.
  void weigh_common(const OtherClock& other, const std::string& name) {
    if (!other.agrees) {
      add(kExcludes,
          "Against it: " + name + " of the same capture is not off alike.");
    } else if (!other.is_right || other.coincides) {
      add(other.same_source ? 1.0 : kSpeaksFor * kSpeaksFor,
          "For it: " + name + " is off alike.");
    }
  }

  // Two sources that are off alike are so by their common time.
  void weigh_unrelated(const OtherClock& other, const std::string& name) {
    const bool is_off = !other.is_right || other.coincides;
    if (!other.agrees || !is_off || is_of_capture(cause_.code)) return;
    add(kSpeaksAgainst,
        "Against it: " + name + ", of another source, is off alike.");
  }

  void weigh_off_alike(bool is_shared, const std::string& name) {
    // A number may be mixed up in what is stated of the source itself.
    const bool may_be_of_source = cause_.code == CauseCode::kNumberMixedUp;
    if (is_of_source(cause_) || is_shared || may_be_of_source) {
      add(1.0, "For it: " + name + " of the same source is off alike.");
    } else if (!is_of_capture(cause_.code)) {
      add(cause_.code == CauseCode::kOutputAlone ? kExcludes : kSpeaksAgainst,
          "Against it: " + name +
              " does not pass through that, and is off "
              "alike.");
    }
  }

  void weigh_off_alone(const OtherClock& other, bool is_shared,
                       const std::string& name) {
    const bool has_source_too =
        cause_.code == CauseCode::kOtherSourceAndPath && other.is_right;
    if (!is_of_source(cause_) && !is_shared && !has_source_too) {
      if (cause_.code == CauseCode::kOutputAlone && other.is_right) {
        add(1.0, "For it: " + name + " of the same source is right.");
      }
      return;
    }
    add(factor_alone(other),
        "Against it: " + name + " of the same source is " +
            (other.is_right ? "right." : "off by another ratio."));
  }

  double factor_alone(const OtherClock& other) const {
    // What is slightly off has most outputs with it (may_be_one_source()), and
    // one that is slightly apart is outvoted.
    if (cause_.code == CauseCode::kCrystalOff ||
        cause_.code == CauseCode::kSourceOff) {
      const bool is_cleared = other.is_right && !is_slightly_apart(other);
      return is_cleared ? kExcludes : kSpeaksAgainst;
    }
    // Somebody's own source may be what this output alone is switched to.
    if (cause_.code == CauseCode::kOtherSource && cause_.from_suspect) {
      return kSpeaksAgainst;
    }
    // What takes a clock far is cleared by one that is nearly right, too.
    const bool is_near = std::abs(other.error.value()) <= kLoadBoundPpm;
    return other.is_right || is_near ? kExcludes : kSpeaksAgainst;
  }

  const CauseFacts& cause_;
  const ClockEvidence& evidence_;
  CauseEvidence result_;
};

std::ptrdiff_t slightly_apart_outputs(const ClockEvidence& evidence) {
  return std::count_if(evidence.others.begin(), evidence.others.end(),
                       is_slightly_apart);
}

// Off by the clock's own ratio, with it.
std::ptrdiff_t outputs_alike(const ClockEvidence& evidence) {
  return 1 + std::count_if(
                 evidence.others.begin(), evidence.others.end(),
                 [](const OtherClock& o) { return o.same_source && o.agrees; });
}

}  // namespace

bool has_warning(const ClockEvidence& evidence, WarningCode code) {
  return std::any_of(evidence.warnings.begin(), evidence.warnings.end(),
                     [code](const Warning& w) { return w.code == code; });
}

bool is_slightly_apart(const OtherClock& other) {
  const double apart = std::abs(other.difference.value());
  return other.same_source && !other.agrees && apart <= kLoadBoundPpm &&
         apart > other.allowed.value();
}

bool may_be_one_source(const ClockEvidence& evidence) {
  const auto apart = slightly_apart_outputs(evidence);
  return apart == 0 || outputs_alike(evidence) > apart;
}

bool is_outvoted_slightly(const ClockEvidence& evidence) {
  return slightly_apart_outputs(evidence) > outputs_alike(evidence);
}

CauseEvidence weigh_evidence(const CauseFacts& cause,
                             const ClockEvidence& evidence) {
  return Weighing(cause, evidence).weigh();
}

std::string seen_if_true(CauseCode code) {
  switch (code) {
    case CauseCode::kOtherSource:
    case CauseCode::kOtherCrystal:
    case CauseCode::kSourceOff:
      return "every output of this source is off by the same ratio";
    case CauseCode::kOtherSourceAndPath:
      return "every output of this source is off, and this one by a further "
             "ratio";
    case CauseCode::kRcOscillator:
      return "every output of this source is off by the same ratio, and moves "
             "by some hundred ppm per kelvin";
    case CauseCode::kLoopOnWatchCrystal:
      return "a watch crystal is fitted, and the error follows its parabola "
             "over temperature";
    case CauseCode::kNumberMixedUp:
    case CauseCode::kOffByOne:
    case CauseCode::kFactorMissing:
    case CauseCode::kFactorTwice:
    case CauseCode::kOtherFactor:
    case CauseCode::kPrescaler:
      return "outputs that do not pass through that setting are right";
    case CauseCode::kPathDoubled:
    case CauseCode::kPathHalved:
      return "the source itself, and outputs without that timer, are right; a "
             "toggled pin has a duty of a half";
    case CauseCode::kNotLocked:
      return "the lock flag is not set, and the frequency moves with supply "
             "and "
             "temperature";
    case CauseCode::kSpreadSpectrum:
      return "the spectrum of the time-interval error shows a line at 30 to 33 "
             "kHz and its harmonics";
    case CauseCode::kOutputAlone:
      return "every other output of this source stays right";
    case CauseCode::kSourceNotShared:
      return "their ratio moves with temperature, as that of two oscillators "
             "does";
    case CauseCode::kCrystalOff:
      return "every output of this crystal is off by the same ppm, and moves "
             "when the load does";
    case CauseCode::kOvertone:
      return "the crystal itself shows that frequency";
    case CauseCode::kPartTooLoose:
      return "other boards with this part scatter over its whole tolerance";
    case CauseCode::kDivisorOff:
      return "bits on the line are too long or too short by that, whatever the "
             "clock does";
    case CauseCode::kSetUpTooTight:
      return "other boards with this part and this set-up fail now and then";
    case CauseCode::kAliased:
      return "at another sample rate the clock is seen at another frequency";
    case CauseCode::kWrongSampleRate:
    case CauseCode::kTimebaseOff:
      return "every channel, of whatever source, is off by the same ratio";
    case CauseCode::kSamplesLost:
      return "single intervals are longer by whole samples, on all channels at "
             "once";
    case CauseCode::kEdgesMiscounted:
      return "periods come in two lengths";
    case CauseCode::kPulsesSwallowed:
      return "every capture shows the same, as far apart, and a channel that "
             "shows the source does not";
    case CauseCode::kOtherChannel:
      return "the other channel shows a clock that is not its own";
    case CauseCode::kSourceStopped:
      return "the other outputs of this source stop as well";
    case CauseCode::kSourceSwitched:
      return "another capture of a start shows the same, at the same time";
    case CauseCode::kUnitMissing:
      return "clocks whose unit is written are off by no such factor";
    case CauseCode::kPinNotDriven:
      return "the oscillator runs, and its other outputs show their clocks";
  }
  return "";
}

void say_what_is_seen(std::vector<Cause>& causes) {
  for (Cause& cause : causes) cause.if_true = seen_if_true(cause.code);
}

}  // namespace clockassay
