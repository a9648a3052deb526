// SPDX-License-Identifier: GPL-3.0-or-later
// judge_capture SPECIFICATION CAPTURE TIMEBASE : the verdicts of one capture by
// the library. Returns 0 where everything passes, 1 for a fail, 2 for undecided,
// 65 where there is no verdict.
#include <cstdio>
#include <fstream>
#include <iterator>
#include <span>
#include <string>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/capture/capture_reader.h"
#include "clockassay/verdict/specification.h"

using namespace clockassay;

namespace {

std::string text_of(const char* path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// The bytes of a file, as the reader asks for them.
ByteSource source_of(std::ifstream& file) {
  return [&file](std::span<char> buffer) -> Result<std::size_t> {
    file.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    return static_cast<std::size_t>(file.gcount());
  };
}

Result<std::vector<Verdict>> judge(const char* specification_path,
                                   const char* capture_path,
                                   const char* timebase_text) {
  const auto specification = parse_specification(text_of(specification_path));
  if (!specification) return tl::unexpected(specification.error());
  const auto timebase = parse_timebase(timebase_text);
  if (!timebase) return tl::unexpected(timebase.error());
  ReadOptions reading;
  for (const ClockSpec& clock : specification->clocks) {
    if (clock.channel) reading.channels.push_back(*clock.channel);
  }
  reading.skip_missing_channels = true;  // that is a verdict, not an error
  std::ifstream file(capture_path, std::ios::binary);
  const auto capture = read_capture(source_of(file), reading, {}, serial_for);
  if (!capture) return tl::unexpected(capture.error());
  AnalysisOptions options;
  options.timebase = *timebase;
  options.expected = expected_of(*specification);
  const CaptureResult result =
      analyse_capture(*capture, capture_path, options, serial_for);
  return judge_capture(*specification, result, *timebase);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 64;
  const auto verdicts = judge(argv[1], argv[2], argv[3]);
  if (!verdicts) {
    std::fprintf(stderr, "%s\n", verdicts.error().message.c_str());
    return 65;
  }
  Decision worst = Decision::kPass;
  for (const Verdict& v : *verdicts) {
    std::printf("%s: %s\n", v.clock.c_str(), decision_name(v.decision));
    if (v.decision == Decision::kFail || worst == Decision::kPass) {
      worst = v.decision;
    }
  }
  if (worst == Decision::kFail) return 1;
  return worst == Decision::kUndecided ? 2 : 0;
}
