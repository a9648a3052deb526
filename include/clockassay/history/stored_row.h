// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

/// Something kept with a result: board, build, temperature …
struct Tag {
  std::string key;
  std::string value;
};

/// The value of a tag; nullptr: there is none.
const std::string* find_tag(const std::vector<Tag>& tags,
                            const std::string& key);

/// One clock of one capture, as a store of results holds it.
struct StoredRow {
  double taken_s = 0.0;  ///< when the capture was taken, seconds since 1970 UTC
  std::string capture;   ///< path
  std::string content;   ///< digest of its bytes; empty where none is known
  std::string clock;     ///< by the specification; else the channel
  std::string channel;
  std::string command;  ///< "measure" or "verify"
  std::string tool_version;
  std::optional<Hertz> expected;
  std::optional<Hertz> frequency;  ///< absent: no clock was there
  std::optional<Ppm> error;        ///< against what is expected
  std::optional<Ppm> expanded;     ///< U of it
  std::optional<Seconds> period_jitter;
  std::optional<double> duty;
  std::optional<std::string> decision;
  /// What was known of the instrument's time; absent: nobody kept it.
  std::optional<Timebase> timebase;
  std::vector<Tag> tags;  ///< each key once, in order of the keys
};

/// What two rows have in common only if they are of the same measurement: the
/// bytes of the capture, every figure to the last bit, the clock and the tags.
/// Not the path and the time of the file, which a copy changes, but where its
/// bytes are not known.
std::string identity_text(const StoredRow& row);

}  // namespace clockassay
