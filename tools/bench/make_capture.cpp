// SPDX-License-Identifier: GPL-3.0-or-later
// Writes big captures whose truth is known, fast, in the forms that
// `clockassay simulate` does not write; VCD and CSV of one signal are its own.
//   make_capture KIND FILE CYCLES FREQUENCY_HZ [JITTER_SAMPLES [SEED]]
// vcd17: the clock clk and 16 other signals that change all the time.
// samples: CSV, a row per sample, no time; read with --time-column none.
// samples8: CSV, a row per sample, time and 8 columns, clk among them.
// irregular: CSV, a row per change, times without the zeros at their end.
// long: VCD of the clock alone, made while it is written: any length in little
// memory. It begins low, half a period before its first rise.
// Sampled 500 000 000 times a second; jitter is rms, white, normal. The truth
// is printed as JSON: the frequency is that in the capture's own time. FILE may
// be -, standard output; then the truth is printed to standard error.
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <random>
#include <string>
#include <string_view>

#include "clockassay/base/decimal.h"
#include "clockassay/base/rational.h"
#include "clockassay/capture/simulated_clock.h"

using namespace clockassay;

namespace {

constexpr std::int64_t kSampleRateHz = 500'000'000;
constexpr std::int64_t kSampleNs = 2;

// Bytes gathered before they are written. Chosen: few calls.
constexpr std::size_t kPartBytes = std::size_t{1} << 20;

[[noreturn]] void stop(const std::string& why) {
  std::fprintf(stderr, "make_capture: %s\n", why.c_str());
  std::exit(1);
}

class Output {
 public:
  explicit Output(const std::string& path)
      : path_(path),
        file_(path == "-" ? stdout : std::fopen(path.c_str(), "wb"),
              &std::fclose) {
    if (!file_) stop("cannot create " + path);
    part_.reserve(kPartBytes + 256);
  }

  void put(std::string_view text) {
    part_ += text;
    if (part_.size() >= kPartBytes) flush();
  }
  void put(char c) { part_ += c; }
  void put_number(std::int64_t value) {
    char digits[20];
    put({digits, std::to_chars(digits, std::end(digits), value).ptr});
  }
  std::int64_t finish() {
    flush();
    if (std::fclose(file_.release()) != 0) stop("cannot write " + path_);
    return bytes_;
  }

 private:
  void flush() {
    if (std::fwrite(part_.data(), 1, part_.size(), file_.get()) !=
        part_.size()) {
      stop("cannot write " + path_);
    }
    bytes_ += static_cast<std::int64_t>(part_.size());
    part_.clear();
  }

  std::string path_;
  std::unique_ptr<std::FILE, int (*)(std::FILE*)> file_;
  std::string part_;
  std::int64_t bytes_ = 0;
};

/// Seconds with nine decimals.
class SecondsText {
 public:
  std::string_view of(std::int64_t ns) {
    char* end = std::to_chars(text_, text_ + 20, ns / 1'000'000'000).ptr;
    *end = '.';
    std::int64_t rest = ns % 1'000'000'000;
    for (char* place = end + 9; place > end; rest /= 10) {
      *place-- = static_cast<char>('0' + rest % 10);
    }
    return {text_, end + 10};
  }

 private:
  char text_[30];
};

std::string_view without_zeros_at_end(std::string_view text) {
  while (text.back() == '0') text.remove_suffix(1);
  if (text.back() == '.') text.remove_suffix(1);
  return text;
}

bool is_high(const SimulatedCapture& capture, std::size_t edge) {
  return (capture.first_level == Level::kLow) == (edge % 2 == 0);
}

constexpr char kFirstOther = '"';  // identifier of the first of the 16 others

void put_changes(Output& out, std::uint32_t& word, std::uint32_t changes) {
  word ^= changes;
  for (unsigned i = 0; i < 16; ++i) {
    if ((changes >> i & 1U) == 0) continue;
    const char text[] = {static_cast<char>('0' + (word >> i & 1U)),
                         static_cast<char>(kFirstOther + i), '\n'};
    out.put({text, sizeof text});
  }
}

// With each edge of the clock half of the others change, and half of them
// again a few samples later.
void write_vcd17(const SimulatedCapture& capture, std::mt19937_64& random,
                 Output& out) {
  out.put("$comment sample rate: 500000000 Hz $end\n$timescale 1 ns $end\n");
  out.put("$scope module capture $end\n$var wire 1 ! clk $end\n");
  for (int i = 0; i < 16; ++i) {
    out.put("$var wire 1 ");
    out.put(static_cast<char>(kFirstOther + i));
    out.put(" d" + std::to_string(i) + " $end\n");
  }
  out.put("$upscope $end\n$enddefinitions $end\n#0\n");
  out.put(capture.first_level == Level::kHigh ? "1!\n" : "0!\n");
  std::uint32_t word = 0;
  put_changes(out, word, 0xffff);
  for (std::size_t i = 0; i < capture.edges.size(); ++i) {
    const std::uint64_t bits = random();
    const std::int64_t at = capture.edges[i];
    out.put('#');
    out.put_number(at * kSampleNs);
    out.put(is_high(capture, i) ? "\n1!\n" : "\n0!\n");
    put_changes(out, word, bits & 0xffff);
    const std::int64_t later = at + 1 + static_cast<std::int64_t>(bits >> 61);
    const bool fits = i + 1 < capture.edges.size()
                          ? later < capture.edges[i + 1]
                          : later <= capture.last_sample;
    if (!fits) continue;
    out.put('#');
    out.put_number(later * kSampleNs);
    out.put('\n');
    put_changes(out, word, bits >> 16 & 0xffff);
  }
}

// Calls row(sample, is high) for every sample.
template <class Row>
void for_each_sample(const SimulatedCapture& capture, const Row& row) {
  bool high = capture.first_level == Level::kHigh;
  std::size_t next = 0;
  for (std::int64_t n = 0; n <= capture.last_sample; ++n) {
    if (next < capture.edges.size() && capture.edges[next] == n) {
      high = is_high(capture, next++);
    }
    row(n, high);
  }
}

void write_samples(const SimulatedCapture& capture, std::mt19937_64&,
                   Output& out) {
  out.put("# sample rate: 500000000 Hz\nclk\n");
  for_each_sample(
      capture, [&](std::int64_t, bool high) { out.put(high ? "1\n" : "0\n"); });
}

// Each of the other columns changes in one row of eight.
void write_samples8(const SimulatedCapture& capture, std::mt19937_64& random,
                    Output& out) {
  out.put("time_s,d0,d1,d2,clk,d3,d4,d5,d6\n");
  SecondsText seconds;
  std::uint64_t word = 0;
  for_each_sample(capture, [&](std::int64_t n, bool high) {
    const std::uint64_t bits = random();
    word ^= bits & bits >> 8 & bits >> 16 & 0xf7U;
    const std::uint64_t row = word | (high ? 8U : 0U);
    char cells[] = ",0,0,0,0,0,0,0,0\n";
    for (unsigned i = 0; i < 8; ++i) {
      cells[2 * i + 1] = static_cast<char>('0' + (row >> i & 1U));
    }
    out.put(seconds.of(n * kSampleNs));
    out.put({cells, sizeof cells - 1});
  });
}

void write_irregular(const SimulatedCapture& capture, std::mt19937_64&,
                     Output& out) {
  out.put("# sample rate: 500000000 Hz\ntime_s,clk\n");
  out.put(capture.first_level == Level::kHigh ? "0,1\n" : "0,0\n");
  SecondsText seconds;
  for (std::size_t i = 0; i < capture.edges.size(); ++i) {
    const std::string_view at = seconds.of(capture.edges[i] * kSampleNs);
    out.put(without_zeros_at_end(at));
    out.put(is_high(capture, i) ? ",1\n" : ",0\n");
  }
}

// What is true of a capture.
struct Truth {
  Rational frequency_hz;
  std::size_t rising = 0;
  std::size_t falling = 0;
  std::int64_t samples = 0;
};

// Edge k, from 1 on, is at k halves of a period, as whole samples and a part in
// 1/den of one, and off by the jitter, at most 6 times its rms; the first
// sample then or after sees it.
Truth write_long(const SimulatedClockOptions& options, Output& out) {
  std::mt19937_64 random(options.seed);
  const double jitter =
      options.jitter_rms_s * static_cast<double>(kSampleRateHz);
  std::normal_distribution<double> noise(0.0, std::max(jitter, 1e-9));
  const auto halves_hz = multiply(options.frequency_hz, Rational(2));
  const auto half =
      halves_hz ? divide(options.sample_rate_hz, *halves_hz) : std::nullopt;
  if (!half || *half < Rational(1)) stop("found a frequency out of range");
  const auto whole = static_cast<std::int64_t>(half->num() / half->den());
  const Int128 rest = half->num() % half->den();
  out.put("$comment sample rate: 500000000 Hz $end\n$timescale 1 ns $end\n");
  out.put("$var wire 1 ! clk $end\n$enddefinitions $end\n#0\n0!\n");
  const auto den = static_cast<double>(half->den());
  if (jitter > 0.01 * static_cast<double>(whole)) stop("too much jitter");
  std::int64_t sample = 0;
  std::int64_t seen = 0;
  Int128 part = 0;
  for (std::int64_t k = 1; k <= 2 * *options.cycles; ++k) {
    sample += whole;
    part += rest;
    if (part >= half->den()) {
      part -= half->den();
      ++sample;
    }
    seen = sample + (part > 0 ? 1 : 0);
    if (jitter > 0.0) {
      const double off = std::clamp(noise(random), -6 * jitter, 6 * jitter);
      seen = sample + static_cast<std::int64_t>(
                          std::ceil(static_cast<double>(part) / den + off));
    }
    out.put('#');
    out.put_number(seen * kSampleNs);
    out.put(k % 2 == 1 ? "\n1!\n" : "\n0!\n");
  }
  const auto edges = static_cast<std::size_t>(*options.cycles);
  return {options.frequency_hz, edges, edges, seen + 1};
}

using Write = void (*)(const SimulatedCapture&, std::mt19937_64&, Output&);

Write writer_of(std::string_view kind) {
  if (kind == "vcd17") return write_vcd17;
  if (kind == "samples") return write_samples;
  if (kind == "samples8") return write_samples8;
  if (kind == "irregular") return write_irregular;
  if (kind == "vcd" || kind == "csv") {
    stop("clockassay simulate writes captures of kind " + std::string(kind));
  }
  stop("found the kind " + std::string(kind) +
       ", expected vcd17, samples, samples8, irregular or long");
}

SimulatedClockOptions options_of(int argc, char** argv) {
  SimulatedClockOptions options;
  options.sample_rate_hz = Rational(kSampleRateHz);
  options.cycles = std::strtoll(argv[3], nullptr, 10);
  const auto frequency = parse_decimal(argv[4]);
  if (!frequency) stop("found " + std::string(argv[4]) + ", expected hertz");
  options.frequency_hz = frequency->value;
  const double jitter = argc > 5 ? std::strtod(argv[5], nullptr) : 0.0;
  options.jitter_rms_s = jitter / static_cast<double>(kSampleRateHz);
  options.seed = argc > 6 ? std::strtoull(argv[6], nullptr, 10) : 1;
  return options;
}

Truth write_simulated(Write write, const SimulatedClockOptions& options,
                      Output& out) {
  const auto capture = simulate_clock(options);
  if (!capture) stop(capture.error().message);
  std::mt19937_64 random(options.seed);
  write(*capture, random, out);
  const std::size_t edges = capture->edges.size();
  const bool low_first = capture->first_level == Level::kLow;
  return {capture->truth.frequency_hz, (edges + (low_first ? 1 : 0)) / 2,
          (edges + (low_first ? 0 : 1)) / 2, capture->last_sample + 1};
}

void print_truth(std::FILE* to, const char* kind,
                 const SimulatedClockOptions& options, const Truth& truth,
                 std::int64_t bytes) {
  std::fprintf(
      to,
      "{\"kind\": \"%s\", \"seed\": %llu, \"frequency_hz\": %.17g,\n"
      " \"frequency_exact_hz\": \"%s\", \"jitter_rms_s\": %.17g,\n"
      " \"rising\": %zu, \"falling\": %zu, \"samples\": %lld, "
      "\"bytes\": %lld}\n",
      kind, static_cast<unsigned long long>(options.seed),
      truth.frequency_hz.to_double(), truth.frequency_hz.to_string().c_str(),
      options.jitter_rms_s, truth.rising, truth.falling,
      static_cast<long long>(truth.samples), static_cast<long long>(bytes));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 5) {
    stop("expected KIND FILE CYCLES FREQUENCY_HZ [JITTER_SAMPLES [SEED]]");
  }
  const std::string kind = argv[1];
  const std::string path = argv[2];
  const Write write = kind == "long" ? nullptr : writer_of(kind);
  const SimulatedClockOptions options = options_of(argc, argv);
  Output out(path);
  const Truth truth = write == nullptr ? write_long(options, out)
                                       : write_simulated(write, options, out);
  print_truth(path == "-" ? stderr : stdout, argv[1], options, truth,
              out.finish());
}
