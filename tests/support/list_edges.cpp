// SPDX-License-Identifier: GPL-3.0-or-later
// list_edges [OPTION…] CAPTURE : what a capture was read as, exactly.
// The options of `clockassay measure`; times are fractions of a second:
//   first 0                       first and last stamp of the capture
//   last 1/8000
//   channel clk                   other bytes than printable ASCII as \xNN
//   known 0 1/8000                a stretch in which the level is known
//   rise 1/24000                  its changes; nothing else in it
//   fall 1/12000
//   rising_only                   instead of known: the file has no falls
// For tests that compare with what another reader makes of the same bytes.
// Exits with 65 and the error if the capture is refused, 64 for wrong options.
#include <cstdio>
#include <string>
#include <vector>

#include "support/capture_options.h"
#include "support/read_text.h"

namespace clockassay {
namespace {

void print_name(const std::string& name) {
  std::printf("channel ");
  for (const char c : name) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte > 0x7E || c == '\\') {
      std::printf("\\x%02X", byte);
    } else {
      std::putchar(c);
    }
  }
  std::putchar('\n');
}

// `ticks` in seconds; the fractions of a readable capture have room for it.
std::string seconds(std::int64_t ticks, const Rational& tick_s) {
  const auto product = multiply(Rational(ticks), tick_s);
  return product ? product->to_string() : "too large";
}

void print_run(const test::PlainRun& run, bool rising_only,
               const Rational& tick_s) {
  if (!rising_only) {
    std::printf("known %s %s\n", seconds(run.known_from, tick_s).c_str(),
                seconds(run.known_to, tick_s).c_str());
  }
  for (const LevelEvent& edge : run.edges) {
    const bool rise = edge.level == Level::kHigh;
    if (rising_only && !rise) continue;
    std::printf("%s %s\n", rise ? "rise" : "fall",
                seconds(edge.time.count(), tick_s).c_str());
  }
}

void print_capture(const Capture& capture) {
  const Rational& tick_s = capture.grid.tick_s;
  std::printf("first %s\nlast %s\n",
              seconds(capture.first_stamp.count(), tick_s).c_str(),
              seconds(capture.last_stamp.count(), tick_s).c_str());
  for (const ChannelRecord& record : capture.channels) {
    print_name(record.name);
    if (record.rising_only) std::printf("rising_only\n");
    for (const test::PlainRun& run : test::plain_channel(record).runs) {
      print_run(run, record.rising_only, tick_s);
    }
  }
}

int refuse(const Error& error, int code) {
  std::printf("error %s line %s byte %s: %s (%s)\n",
              error_code_name(error.code),
              error.line ? std::to_string(*error.line).c_str() : "?",
              error.byte ? std::to_string(*error.byte).c_str() : "?",
              error.message.c_str(), error.hint.c_str());
  return code;
}

int run(std::vector<std::string> args) {
  const std::string path = args.empty() ? "" : args.back();
  if (!args.empty()) args.pop_back();
  const auto options = test::capture_options(args);
  if (!options) return refuse(options.error(), 64);
  const auto capture = test::read_text(test::file_text(path), *options);
  if (!capture) return refuse(capture.error(), 65);
  print_capture(*capture);
  return 0;
}

}  // namespace
}  // namespace clockassay

int main(int count, char** values) {
  return clockassay::run({values + 1, values + count});
}
