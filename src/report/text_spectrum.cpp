// SPDX-License-Identifier: GPL-3.0-or-later
#include <array>
#include <string>
#include <vector>

#include "report/display_width.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

constexpr int kDigits = 3;          // of densities, amplitudes, rates
constexpr std::size_t kListed = 8;  // chosen: what fits a glance

std::string near_frequency(Hertz f, Hertz uncertainty) {
  return frequency_to(f.value(), uncertainty.value());
}

/// One line of a table: left-aligned columns of these widths.
std::string row(const std::array<std::string, 5>& cells) {
  constexpr std::array<std::size_t, 5> kWidths = {20, 12, 10, 10, 0};
  std::string line;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    line += cells[i];
    const std::size_t width = display_width(cells[i]);
    if (width < kWidths[i]) line.append(kWidths[i] - width, ' ');
  }
  return unbroken(line);
}

std::string scale_text(const TieSpectrum::Scale& s) {
  return unbroken(near_frequency(s.from, s.resolution)) + " to " +
         unbroken(near_frequency(s.to, s.resolution)) +
         ", resolution bandwidth " +
         unbroken(near_frequency(s.resolution, s.resolution)) + ", " +
         unbroken(count(s.segments) + " segments");
}

void put_list(TextLayout& out, const char* label,
              const std::vector<Spur>& spurs) {
  out.labelled(label,
               row({"frequency", "standard u", "TIE rms", "peak", "sideband"}));
  for (std::size_t i = 0; i < spurs.size() && i < kListed; ++i) {
    const Spur& spur = spurs[i];
    out.labelled(
        "", row({near_frequency(spur.frequency, spur.frequency_uncertainty),
                 near_frequency(spur.frequency_uncertainty,
                                spur.frequency_uncertainty),
                 time_to_digits(spur.rms.value(), kDigits),
                 time_to_digits(spur.peak.value(), kDigits),
                 number_to_digits(spur.sideband_dbc, kDigits) + " dBc"}));
    if (spur.may_be) {
      out.labelled("", "  or this is an image, and the spur at " +
                           unbroken(near_frequency(
                               *spur.may_be, spur.frequency_uncertainty)) +
                           ": another sample rate tells");
    }
  }
  if (spurs.size() > kListed) {
    out.labelled("",
                 "… " + std::to_string(spurs.size()) + " in all, see --json");
  }
}

void put_spurs(TextLayout& out, const TieSpectrum& s) {
  if (!s.spurs.empty()) put_list(out, "spurs", s.spurs);
  if (!s.unsorted.empty()) {
    put_list(out, "lines", s.unsorted);
  } else if (s.spurs.empty()) {
    out.labelled("spurs", "none from " +
                              unbroken(near_frequency(s.searched_from,
                                                      s.fine.resolution)) +
                              " on (false alarm " +
                              number_to_digits(s.most_false_alarms, 1) + ")");
  }
}

/// What sampling makes and the clock is not told apart.
std::string unsorted_reason(const TieSpectrum& s) {
  if (s.interpolated) {
    return "not told from the clock's: the edges lie between samples of a "
           "voltage, and how far off is not known";
  }
  return s.unsorted.empty() ? "the sampling interval is not known"
                            : "not told from the clock's: the sampling "
                              "interval is not known; state --sample-rate";
}

void put_images(TextLayout& out, const TieSpectrum& s) {
  if (!s.sampling_known) {
    out.labelled("by sampling", unsorted_reason(s));
    return;
  }
  if (s.sampling_images.empty()) return;
  const SamplingImage& first = s.sampling_images.front();
  out.labelled(
      "by sampling",
      unbroken(std::to_string(s.sampling_images.size()) +
               (s.sampling_images.size() == 1 ? " line" : " lines")) +
          " left out, the strongest at " +
          unbroken(near_frequency(first.frequency, s.fine.resolution)) + ", " +
          unbroken(time_to_digits(first.peak.value(), kDigits) + " peak"));
  for (const SamplingImage& image : s.sampling_images) {
    if (!image.may_be_spur) continue;
    out.labelled(
        "", "that at " +
                unbroken(near_frequency(image.frequency, s.fine.resolution)) +
                " may be a spur where an image is: another sample "
                "rate tells");
    return;
  }
}

const char* profile_text(SpreadProfile profile) {
  switch (profile) {
    case SpreadProfile::kSine:
      return "like a sine";
    case SpreadProfile::kTriangle:
      return "like a triangle";
    case SpreadProfile::kOther:
      return "of another profile, as if its harmonics peaked at once";
    case SpreadProfile::kNotSeen:
      break;
  }
  return "of a profile that does not show";
}

void put_spread(TextLayout& out, const SpreadSpectrum& s) {
  out.labelled(
      "spread",
      "by " + unbroken(number_to_digits(s.depth.value(), 4) + " ppm") +
          " of the mean frequency peak to peak, standard uncertainty " +
          unbroken(number_to_digits(s.depth_uncertainty.value(), 2) + " ppm") +
          ", at " + unbroken(near_frequency(s.rate, s.rate_uncertainty)) +
          ", " + profile_text(s.profile));
  out.labelled(
      "", "from " + unbroken(frequency_to(s.lowest.value(), s.rate.value())) +
              " to " +
              unbroken(frequency_to(s.highest.value(), s.rate.value())) +
              "; whether down or about the centre only a stated frequency "
              "tells");
}

}  // namespace

void put_spectrum(TextLayout& out, const ChannelResult& c) {
  if (!c.no_spectrum.empty()) {
    out.labelled("TIE spectrum", "not formed: " + message_text(c.no_spectrum));
  }
  if (!c.spectrum) return;
  const TieSpectrum& s = *c.spectrum;
  out.labelled("TIE spectrum", scale_text(s.fine));
  if (s.coarse) out.labelled("", scale_text(*s.coarse));
  out.labelled(
      "", "floor " + unbroken(time_to_digits(s.root_floor, kDigits) + "/√Hz") +
              ", as of white jitter of " +
              unbroken(time_to_digits(s.floor_rms.value(), kDigits) + " rms"));
  put_spurs(out, s);
  put_images(out, s);
  if (s.spread) put_spread(out, *s.spread);
}

}  // namespace clockassay
