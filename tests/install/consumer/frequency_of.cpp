// SPDX-License-Identifier: GPL-3.0-or-later
// frequency_of CAPTURE TIMEBASE : what is on each channel, by the library: its
// name, the frequency in Hz and U (95 %) in Hz. Returns 65 where it cannot be
// said.
#include <cstdio>
#include <fstream>
#include <span>

#include "clockassay/analysis/analyse.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/capture/capture_reader.h"

using namespace clockassay;

namespace {

Result<CaptureResult> measured(const char* path, const char* timebase_text) {
  const auto timebase = parse_timebase(timebase_text);
  if (!timebase) return tl::unexpected(timebase.error());
  std::ifstream file(path, std::ios::binary);
  const auto bytes = [&file](std::span<char> buffer) -> Result<std::size_t> {
    file.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    return static_cast<std::size_t>(file.gcount());
  };
  const auto capture = read_capture(bytes, {}, {}, serial_for);
  if (!capture) return tl::unexpected(capture.error());
  AnalysisOptions options;
  options.timebase = *timebase;
  return analyse_capture(*capture, path, options, serial_for);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return 64;
  const auto result = measured(argv[1], argv[2]);
  if (!result) {
    std::fprintf(stderr, "%s\n", result.error().message.c_str());
    return 65;
  }
  for (const ChannelResult& channel : result->channels) {
    if (!channel.budget) return 65;
    const FrequencyResult& frequency = channel.budget->frequency;
    std::printf("%s %.17g %.17g\n", channel.name.c_str(),
                frequency.value.value(),
                frequency.expanded_uncertainty.value());
  }
  return 0;
}
