// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/printable.h"
#include "report/facts.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

// Chosen: enough to compare, no more than a spread of samples supports.
constexpr int kJitterDigits = 3;
constexpr int kDurationDigits = 4;

std::string duration(Seconds s) {
  return unbroken(time_to_digits(s.value(), kDurationDigits));
}

std::string percent(double fraction, int digits) {
  constexpr double kPercent = 100.0;
  return number_to_digits(kPercent * fraction, digits) + " %";
}

std::string statistic(const char* what, const std::optional<Seconds>& value) {
  return value ? what + (' ' + time_to_digits(value->value(), kJitterDigits))
               : what + std::string(" not formed");
}

/// Where fewer samples than customary stand behind the figures.
/// Source: JEDEC JESD65B, from memory and a data sheet that quotes it
std::string few_text(const Jitter& j) {
  constexpr std::int64_t kPeriods = 10'000, kPairs = 1'000;
  std::string text;
  if (j.cycles < kPeriods) {
    text +=
        "; for period jitter " + unbroken(count(kPeriods)) + " are customary";
  }
  if (j.pairs < kPairs) {
    text += ", from cycle to cycle " + unbroken(count(kPairs) + " pairs");
  }
  return text;
}

void put_half_periods(TextLayout& out, const HalfPeriodJitter& half) {
  std::vector<std::string> figures = {"half period", statistic("rms", half.rms),
                                      statistic("peak", half.peak)};
  if (half.edge_skew) {
    figures.push_back(
        "each within " +
        unbroken(time_to_digits(half.edge_skew->value(), kJitterDigits)) +
        " by edge skew");
  }
  out.labelled("", side_by_side(figures));
}

void put_jitter(TextLayout& out, const ChannelResult& channel) {
  const Jitter& j = channel.jitter;
  if (j.cycles == 0) {
    out.labelled("jitter", "not formed: too few cycles in a row");
    return;
  }
  out.labelled(
      "jitter",
      side_by_side({"period", statistic("rms", j.period_rms),
                    statistic("peak to peak", j.period_peak_to_peak)}));
  out.labelled("", side_by_side({"cycle to cycle",
                                 statistic("rms", j.cycle_to_cycle_rms),
                                 statistic("peak", j.cycle_to_cycle_peak)}));
  out.labelled("",
               side_by_side({"time-interval error", statistic("rms", j.tie_rms),
                             statistic("peak to peak", j.tie_peak_to_peak)}));
  if (channel.half_periods) put_half_periods(out, *channel.half_periods);
  std::string over =
      "as sampled, over " + unbroken(count(j.cycles) + " cycles") + few_text(j);
  if (j.resolution_limited) {
    over += "; below resolution: these show the sampling, not the clock";
  }
  out.labelled("", over);
  if (j.edge_rms && j.edge_rms_uncertainty) {
    out.labelled(
        "", "of an edge, sampling taken off: rms " +
                unbroken(time_with_uncertainty(
                    j.edge_rms->value(), j.edge_rms_uncertainty->value())) +
                " (95 %, if normal)");
  } else if (j.upper_limit) {
    out.labelled("", "of an edge, sampling taken off: rms at most " +
                         unbroken(time_to_digits(j.upper_limit->value(),
                                                 kJitterDigits)) +
                         " (95 %, if normal)");
  }
}

const char* character_words(CharacterKind kind) {
  switch (kind) {
    case CharacterKind::kCrystalLike:
      return "like a crystal's";
    case CharacterKind::kRcLike:
      return "like an RC oscillator's";
    case CharacterKind::kPllWithSpur:
      return "like a PLL's with a spur, or something coupled in";
    case CharacterKind::kSpreadSpectrum:
      return "spread spectrum";
    case CharacterKind::kSlewing:
      return "slewing: not locked, or starting";
    case CharacterKind::kCannotTell:
      break;
  }
  return "cannot tell";
}

void put_character(TextLayout& out, const OscillatorCharacter& c) {
  std::string text = character_words(c.kind);
  for (const std::string& reason : c.evidence) text += "; " + reason;
  out.labelled("character", text);
}

void put_spectral(TextLayout& out, const SpectralCheck& s) {
  std::string text = s.outcome == SpectralOutcome::kAgrees ? "agrees"
                     : s.outcome == SpectralOutcome::kDisagrees
                         ? "DISAGREES"
                         : "not applicable";
  if (s.frequency && s.difference && s.limit) {
    // As many digits as the limit of the comparison makes meaningful.
    const double place = s.limit->value() * 1e-6 * s.frequency->value();
    text += ": " + unbroken(frequency_to(s.frequency->value(), place)) +
            ", differs by " +
            unbroken(number_to_digits(s.difference->value(), 2) + " ppm") +
            " of " + unbroken(number_to_digits(s.limit->value(), 2) + " ppm") +
            " allowed";
  }
  if (!s.reason.empty()) text += "; " + message_text(s.reason);
  out.labelled("spectrum", text);
}

std::string edges_text(const EdgeCounts& e) {
  std::string text = unbroken(count(e.rising) + " rising") + ", " +
                     unbroken(count(e.falling) + " falling");
  if (e.missing == 0 && e.extra == 0) return text + ", none repaired";
  return text + "; " + unbroken(count(e.missing) + " lost") +
         " cycles numbered, " + unbroken(count(e.extra) + " extra") +
         " edges left out";
}

void put_stretches(TextLayout& out,
                   const std::vector<StretchRecord>& stretches) {
  if (stretches.size() < 2) return;
  out.labelled("stretches", "the frequency above is that of the last");
  for (const StretchRecord& s : stretches) {
    const std::string frequency = s.budget ? frequency_text(s.budget->frequency)
                                           : "too few edges for a frequency";
    out.labelled(
        "", duration(s.from) + " to " + duration(s.to) + ":  " + frequency);
  }
}

/// From when on the frequency was the one stated, where it was another before.
/// A clock that moves until shortly before the end has settled to nothing.
void put_settling(TextLayout& out, const ChannelResult& c) {
  constexpr double kShortly = 0.1;  // of what is analysed; chosen
  if (c.course.empty()) return;
  const Seconds from = c.stretches.front().from, to = c.stretches.back().to;
  if (c.settled_after && *c.settled_after > from &&
      (to - *c.settled_after).value() < kShortly * (to - from).value()) {
    out.labelled("settled", "not clearly: parts show another frequency until " +
                                duration(*c.settled_after));
    return;
  }
  if (!c.settled_after) {
    out.labelled("settled", "not by the end of what is analysed");
  } else if (*c.settled_after > c.stretches.front().from) {
    out.labelled("settled",
                 "after " + duration(*c.settled_after) +
                     ": from then on every part shows the frequency above, as "
                     "far as jitter and sampling let it");
  }
}

void put_frequency(TextLayout& out, const ChannelResult& c) {
  const FrequencyResult& f = c.budget->frequency;
  const FrequencyResult& own = c.budget->relative_to_timebase;
  out.labelled("frequency",
               frequency_text(f) + (c.is_reference ? ", the reference" : ""));
  out.labelled("capture alone", frequency_text(own) + ", timebase left out");
  if (c.bound_low && c.bound_high) {
    const bool repaired = c.edges.missing > 0 || c.edges.extra > 0;
    out.labelled(
        "bounds",
        unbroken(frequency_to(c.bound_low->value(),
                              own.expanded_uncertainty.value())) +
            " to " +
            unbroken(frequency_to(c.bound_high->value(),
                                  own.expanded_uncertainty.value())) +
            " in the capture's own time, if the clock has no jitter" +
            (repaired ? ", the repairs below are right and the sampler is ideal"
                      : " and the sampler is ideal"));
  }
  if (c.period) {
    // The period is as uncertain as the frequency, in proportion.
    const double relative = f.expanded_uncertainty / f.value;
    const double expanded = relative * c.period->value();
    out.labelled("period", unbroken(time_to(c.period->value(), expanded) +
                                    " \u00B1 " + time_to_digits(expanded, 2)) +
                               " (" + unbroken(coverage_percent(f.coverage)) +
                               ")");
  }
}

}  // namespace

void put_channel(TextLayout& out, const ChannelResult& c) {
  out.paragraph(name_text(c.name), 2);
  if (c.budget) {
    put_frequency(out, c);
  } else {
    out.labelled("frequency", "none: no clock found on this channel");
  }
  if (c.duty) {
    out.labelled("duty",
                 unbroken(percent(c.duty->value, 4)) +
                     " high, standard uncertainty " +
                     unbroken(percent(c.duty->standard_uncertainty, 2)));
  }
  if (c.budget) {
    put_jitter(out, c);
    put_spectral(out, c.spectral_check);
    if (c.periods) put_periods(out, *c.periods);
    if (c.stability) put_stability(out, *c.stability);
  }
  put_spectrum(out, c);
  if (c.character) put_character(out, *c.character);
  out.labelled("edges", edges_text(c.edges));
  put_stretches(out, c.stretches);
  put_settling(out, c);
  put_warnings(out, c.warnings);
}

void put_channel_line(TextLayout& out, const ChannelResult& c) {
  out.paragraph(
      name_text(c.name) + "  " +
          (c.budget ? frequency_text(c.budget->frequency) : "no clock found") +
          (c.is_reference ? ", the reference" : ""),
      2);
}

void put_capture(TextLayout& out, const CaptureResult& c) {
  std::string sampling = "sampling interval not visible";
  if (c.sample_interval) {
    sampling = "sampled every " + unbroken(interval_text(*c.sample_interval)) +
               " (" + printable(c.sample_interval_source) + ")";
  }
  out.paragraph(message_text(c.path) + ": " + printable(c.format) + ", " +
                    unbroken(count(c.bytes) + " bytes") + ", " +
                    duration(c.duration) + " long, " + sampling,
                2);
  if (!c.idle_channels.empty()) {
    constexpr std::size_t kListed = 20;  // chosen: a few lines
    std::string names;
    std::size_t listed = 0;
    for (const IdleChannel& idle : c.idle_channels) {
      if (listed++ == kListed) {
        names +=
            ", … " +
            unbroken("(" + std::to_string(c.idle_channels.size()) + " in all)");
        break;
      }
      names += (names.empty() ? "" : ", ") + name_text(idle.name) + " (" +
               unbroken(count(idle.edges) + " edges") + ")";
    }
    out.labelled("no clock on", names);
  }
  if (c.reference) {
    out.labelled("reference", reference_text(*c.reference));
  }
  put_warnings(out, c.warnings);
}

}  // namespace clockassay
