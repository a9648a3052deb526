// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/simulate_command.h"

#include <nlohmann/json.hpp>

#include "app/console.h"
#include "app/delivery.h"
#include "app/output_file.h"
#include "clockassay/base/printable.h"
#include "clockassay/capture/capture_writer.h"
#include "clockassay/capture/simulated_clock.h"

namespace clockassay {
namespace {

// Fractions as exact text and, for reading, as a number.
std::string truth_json(const SimulateArguments& a,
                       const SimulatedCapture& capture) {
  const SimulationTruth& truth = capture.truth;
  const nlohmann::ordered_json tree = {
      {"schema", "clockassay-truth/1"},
      {"channel", valid_utf8(a.channel)},
      {"frequency_hz", truth.frequency_hz.to_double()},
      {"frequency_exact_hz", truth.frequency_hz.to_string()},
      {"nominal_hz", a.clock.frequency_hz.to_double()},
      {"offset_ppm", a.clock.offset_ppm.to_double()},
      {"sample_rate_hz", capture.sample_rate_hz.to_double()},
      {"samples", capture.last_sample + 1},
      {"duty", a.clock.duty.to_double()},
      {"jitter_rms_s", a.clock.jitter_rms_s},
      {"start_phase_exact", truth.start_phase.to_string()},
      {"seed", a.clock.seed},
      {"pulses", truth.pulses},
      {"dropped", truth.dropped},
      {"glitches", truth.glitches},
      {"merged", truth.merged}};
  constexpr int kIndent = 2;
  return tree.dump(kIndent, ' ', /*ensure_ascii=*/true) + '\n';
}

Result<void> write_capture(const SimulateArguments& a,
                           const SimulatedCapture& capture, OutputFile& out) {
  std::optional<Error> reason;  // why the sink said stop
  const TextSink sink = [&out, &reason](std::string_view text) {
    const auto written = out.write(text);
    if (!written) reason = written.error();
    return written.has_value();
  };
  auto done = a.vcd ? write_vcd(capture, a.channel, sink)
                    : write_csv(capture, a.channel, sink);
  if (reason) return tl::unexpected(*reason);
  return done;
}

Result<void> commit_both(OutputFile& out, OutputFile& truth) {
  if (auto done = out.seal(); !done) return done;
  if (auto done = truth.commit(); !done) return done;
  return out.commit();
}

// Neither file appears unless both could be written.
Result<void> simulate(const SimulateArguments& a) {
  std::vector<std::string> outputs = {a.out};
  if (a.truth) outputs.push_back(*a.truth);
  if (auto checked = check_outputs({}, outputs); !checked) return checked;
  const auto capture = simulate_clock(a.clock);
  if (!capture) return tl::unexpected(capture.error());
  auto out = OutputFile::create(a.out);
  if (!out) return tl::unexpected(out.error());
  if (auto done = write_capture(a, *capture, *out); !done) return done;
  if (a.truth) {
    auto truth = OutputFile::create(*a.truth);
    if (!truth) return tl::unexpected(truth.error());
    if (auto done = truth->write(truth_json(a, *capture)); !done) return done;
    return commit_both(*out, *truth);
  }
  return out->commit();
}

}  // namespace

ExitCode run_simulate(const SimulateArguments& arguments) {
  const auto done = simulate(arguments);
  if (done) return ExitCode::kDone;
  complain(done.error());
  return exit_code(done.error().code);
}

}  // namespace clockassay
