// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cstddef>
#include <string>

#include "report/display_width.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

// Chosen: enough to compare; the interval may allow more.
constexpr int kMostDigits = 3;
// Without an interval.
constexpr int kFewDigits = 2;
constexpr int kTauDigits = 4;

using Row = std::array<std::string, 8>;
// Columns [characters], two blanks before each.
constexpr std::array<std::size_t, 8> kWidths = {8, 9, 8, 8, 8, 8, 7, 7};

std::string line_of(const Row& row) {
  std::string line;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const std::size_t width = display_width(row[i]);
    line += "  ";
    if (width < kWidths[i]) line.append(kWidths[i] - width, ' ');
    line += row[i];
  }
  while (line.ends_with(' ')) line.pop_back();
  return line + '\n';
}

std::string number(const std::optional<double>& value, int digits) {
  return value ? scientific(*value, digits) : "-";
}

std::string time(const std::optional<Seconds>& value, int digits) {
  if (!value) return "-";
  return value->value() == 0.0 ? "0" : time_to_digits(value->value(), digits);
}

Row row_of(const StabilityPoint& p) {
  const int digits =
      p.adev && p.adev_low && p.adev_high
          ? digits_within(*p.adev, *p.adev_low, *p.adev_high, kMostDigits)
          : kFewDigits;
  return {time_to_digits(p.tau.value(), kTauDigits),
          number(p.adev, digits) + (p.sampling_limited ? '*' : ' '),
          number(p.adev_low, digits),
          number(p.adev_high, digits),
          number(p.mdev, digits),
          number(p.hdev, digits),
          time(p.tdev, digits),
          time(p.mtie, kMostDigits)};
}

const char* noise_words(NoiseKind noise) {
  switch (noise) {
    case NoiseKind::kWhitePhase:
      return "white of the phase";
    case NoiseKind::kFlickerPhase:
      return "flicker of the phase";
    case NoiseKind::kWhiteFrequency:
      return "white of the frequency";
    case NoiseKind::kFlickerFrequency:
      return "flicker of the frequency";
    case NoiseKind::kWalkFrequency:
      break;
  }
  return "a walk or drift of the frequency";
}

std::string tau_text(const StabilityPoint& p) {
  return unbroken("tau = " + time_to_digits(p.tau.value(), kTauDigits));
}

/// "white of the phase from tau = 83.33 ns on, ..."; of rows that show the
/// sampling it says nothing.
std::string noise_text(const Stability& s) {
  std::string text;
  std::optional<NoiseKind> before;
  for (const StabilityPoint& p : s.points) {
    if (!p.noise || p.noise == before || p.sampling_limited) continue;
    text += (text.empty() ? "" : ", ") + std::string(noise_words(*p.noise)) +
            " from " + tau_text(p) + " on";
    before = p.noise;
  }
  return text;
}

/// Whose time the figures are in.
std::string time_text(const Stability& s) {
  const std::string own =
      "the instrument's own clock is in these figures too: they are of the two "
      "clocks together";
  if (!s.reference) return own;
  const auto first =
      std::find_if(s.points.begin(), s.points.end(),
                   [](const StabilityPoint& p) { return p.against_reference; });
  if (first == s.points.end()) {
    return own +
           "; the edges of the reference are too far apart for these "
           "tau, they serve from " +
           unbroken("tau = " +
                    time_to_digits(s.reference->from.value(), kTauDigits)) +
           " on";
  }
  const std::string against =
      "from " + tau_text(*first) +
      " on against the reference: of the two clocks together, and of what the "
      "instrument's own does between edges of the reference";
  if (first == s.points.begin()) return against;
  return against +
         "; below, its edges are too far apart, and the instrument's own clock "
         "is in the figures";
}

void put_notes(TextLayout& out, const Stability& s) {
  const StabilityPoint* limited = nullptr;
  const StabilityPoint* thinned = nullptr;
  for (const StabilityPoint& p : s.points) {
    if (p.sampling_limited && limited == nullptr) limited = &p;
    if (p.decimation > 1 && thinned == nullptr) thinned = &p;
  }
  if (limited != nullptr) {
    out.labelled("", "* less than twice what sampling alone makes, " +
                         unbroken(scientific(*limited->floor_adev, 2)) +
                         " at " + tau_text(*limited) +
                         ": these show the sampling, not the clock");
  }
  const std::string noise = noise_text(s);
  if (!noise.empty()) {
    out.labelled("", "the intervals take the noise to be " + noise);
  }
  if (thinned != nullptr) {
    out.labelled("", "from " + tau_text(*thinned) +
                         " on terms begin at every few cycles only");
  }
  out.labelled("", time_text(s));
}

}  // namespace

void put_stability(TextLayout& out, const Stability& s) {
  if (s.points.empty()) {
    out.labelled("stability", "not formed: too few cycles");
    return;
  }
  out.labelled("stability",
               "Allan deviation (overlapping) with its 95 % interval, modified "
               "Allan and Hadamard deviation, time deviation, maximum "
               "time-interval error");
  out.append(
      line_of({"tau", "adev ", "from", "to", "mdev", "hdev", "tdev", "mtie"}));
  for (const StabilityPoint& p : s.points) out.append(line_of(row_of(p)));
  put_notes(out, s);
}

}  // namespace clockassay
