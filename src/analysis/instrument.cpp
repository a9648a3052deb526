// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/instrument.h"

#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "clockassay/base/quantity_text.h"
#include "verdict/json_document.h"
#include "verdict/json_fields.h"

namespace clockassay {
namespace {

using nlohmann::json;

constexpr std::string_view kKeys[] = {"timebase", "timebase_stability",
                                      "input_jitter_rms", "edge_skew",
                                      "reference"};

/// The value of a key, if there is one, by a parser that knows nothing of JSON.
template <class T, class Parse>
Failure read_key(const json& tree, const char* key, const char* example,
                 Parse parse, std::optional<T>& value) {
  const auto member = tree.find(key);
  if (member == tree.end()) return std::nullopt;
  const std::string here = deeper("", key);
  const auto text = read_text(*member, here, example);
  if (!text) return tl::unexpected<Error>(text.error());
  auto read = parse(*text);
  if (!read) return refuse(here, read.error());
  value = *std::move(read);
  return std::nullopt;
}

/// "1ppm" or "±1ppm".
Result<Ppm> parse_stability(std::string_view text) {
  const auto read = parse_offset_tolerance(text);
  if (!read) return tl::unexpected<Error>(read.error());
  if (read->has_offset) {
    return failure(ErrorCode::kUsage,
                   "found an offset, expected how far the rate moves",
                   "for example 1ppm");
  }
  return Ppm(read->tolerance_ppm.to_double());
}

Result<Seconds> parse_seconds(std::string_view text) {
  const auto read = parse_time(text);
  if (!read) return tl::unexpected<Error>(read.error());
  return Seconds(read->to_double());
}

}  // namespace

Result<Timebase> parse_timebase(std::string_view text) {
  const auto read = parse_offset_tolerance(text);
  if (!read) return tl::unexpected<Error>(read.error());
  const Rational tenth(100'000);
  if (read->offset_ppm >= tenth || read->offset_ppm <= Rational(-100'000)) {
    return failure(ErrorCode::kUsage,
                   "found an offset of 10 % or more, expected less");
  }
  return Timebase{
      read->has_offset ? TimebaseKind::kCalibrated : TimebaseKind::kStated,
      Ppm(read->offset_ppm.to_double()), Ppm(read->tolerance_ppm.to_double())};
}

Result<Instrument> parse_instrument(std::string_view text) {
  const auto document = read_json_document(text);
  if (!document) return tl::unexpected<Error>(document.error());
  const json& tree = *document;
  if (Failure f = check_object(tree, "", kKeys)) return *f;
  Instrument instrument;
  if (Failure f = read_key(tree, "timebase", "-12.3ppm±2ppm", parse_timebase,
                           instrument.timebase)) {
    return *f;
  }
  if (Failure f = read_key(tree, "timebase_stability", "1ppm", parse_stability,
                           instrument.timebase_stability)) {
    return *f;
  }
  if (Failure f = read_key(tree, "input_jitter_rms", "50ps", parse_seconds,
                           instrument.input_jitter_rms)) {
    return *f;
  }
  if (Failure f = read_key(tree, "edge_skew", "2ns", parse_seconds,
                           instrument.edge_skew)) {
    return *f;
  }
  if (Failure f = read_key(tree, "reference", "ref=10MHz±0.1ppm",
                           parse_reference, instrument.reference)) {
    return *f;
  }
  return instrument;
}

}  // namespace clockassay
