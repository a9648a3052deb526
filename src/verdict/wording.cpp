// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/wording.h"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace clockassay {
namespace {

std::string fixed_text(double value, int decimals) {
  char buffer[400];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value,
                                 std::chars_format::fixed, decimals);
  std::string text(buffer, end.ptr);
  // "-0.0" is no number a person writes.
  if (text.find_first_not_of("-0.") == std::string::npos && text[0] == '-') {
    text.erase(0, 1);
  }
  return text;
}

std::string signed_text(double value) {
  return (value > 0 ? "+" : "") + number_text(value, 9);
}

// What rounds to nothing has no side.
std::string with_side(double ppm, double u_ppm, const char* above,
                      const char* below) {
  const std::string size = offset_text(ppm, u_ppm);
  const bool is_zero = size.find_first_of("123456789") == std::string::npos;
  return size + (is_zero ? " off" : ppm < 0 ? below : above);
}

}  // namespace

std::string ppm_text(double ppm, double u_ppm) {
  if (!std::isfinite(ppm)) return "unknown";
  if (!std::isfinite(u_ppm) || !(u_ppm > 0.0)) return number_text(ppm, 6);
  // Decimals that show two digits of the uncertainty; a millionth of a ppm is
  // below anything a capture shows.
  const double decimals = 1.0 - std::floor(std::log10(u_ppm));
  return fixed_text(ppm, static_cast<int>(std::clamp(decimals, 0.0, 6.0)));
}

std::string hertz_text(double hertz) {
  constexpr int kDigits = 9;
  const double size = std::abs(hertz);
  if (size >= 1e9) return number_text(hertz / 1e9, kDigits) + " GHz";
  if (size >= 1e6) return number_text(hertz / 1e6, kDigits) + " MHz";
  if (size >= 1e3) return number_text(hertz / 1e3, kDigits) + " kHz";
  return number_text(hertz, kDigits) + " Hz";
}

std::string band_text(double low_ppm, double high_ppm) {
  const double low = shown_limit(low_ppm, LimitSide::kLow);
  const double high = shown_limit(high_ppm, LimitSide::kHigh);
  if (low_ppm == -high_ppm) return "±" + number_text(high, 9) + " ppm";
  return signed_text(low) + " … " + signed_text(high) + " ppm";
}

std::string soldering_caution() {
  return "Before soldering: power off, every supply unplugged, stored energy "
         "discharged; an ESD strap; with hot air, mind what is near, and draw "
         "off fumes; clean off the flux, which shifts an oscillator. For "
         "people qualified for it; local rules come first.";
}

std::string coverage_text(double coverage) {
  return number_text(100.0 * coverage, 6) + " %";
}

std::string offset_text(double ppm, double u_ppm) {
  // Beyond a per cent nobody counts in ppm.
  constexpr double kPpmPerCent = 1e4;
  const double size = std::abs(ppm);
  // Beyond a million of them digits still say more than powers of ten.
  if (size >= 1e6 * kPpmPerCent)
    return fixed_text(size / kPpmPerCent, 0) + " %";
  if (size >= kPpmPerCent) return number_text(size / kPpmPerCent, 6) + " %";
  return ppm_text(size, u_ppm) + " ppm";
}

std::string fast_or_slow(double ppm, double u_ppm) {
  return with_side(ppm, u_ppm, " fast", " slow");
}

std::string above_or_below(double ppm, double u_ppm) {
  return with_side(ppm, u_ppm, " above", " below");
}

}  // namespace clockassay
