// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/plan_command.h"

#include <cmath>
#include <vector>

#include "app/console.h"
#include "app/delivery.h"
#include "app/instrument_file.h"
#include "app/picture_files.h"
#include "clockassay/plan/path_plan.h"
#include "clockassay/report/plan_report.h"

namespace clockassay {
namespace {

template <class T>
Result<T> from_option(const char* option, Result<T> result) {
  if (!result) {
    Error error = result.error();
    // The values come from the command line, whatever did not take them.
    error.code = ErrorCode::kUsage;
    error.message = std::string(option) + ": " + error.message;
    return tl::unexpected(std::move(error));
  }
  return result;
}

Result<LoadPlan> plan_of(const LoadPlanInput& input) {
  return plan_load(input);
}

Result<DrivePlan> plan_of(const DrivePlanInput& input) {
  return plan_drive(input);
}

Result<PathPlan> plan_of(const PathPlanInput& input) {
  auto plan =
      from_option("--expect", plan_path(input.expression, input.source));
  if (!plan || !input.former) return plan;
  auto former = from_option("--former", plan_former(*plan, *input.former));
  if (!former) return tl::unexpected(former.error());
  plan->former = *std::move(former);
  return plan;
}

Result<CapturePlan> plan_of(const CapturePlanInput& input) {
  return plan_capture(input);
}

// What the instrument file states and the command line does not.
Result<void> add_instrument(PlanArguments& arguments) {
  auto* input = std::get_if<CapturePlanInput>(&arguments.input);
  if (!input || !arguments.instrument) return {};
  if (arguments.json) {
    const auto apart =
        check_outputs({*arguments.instrument}, {*arguments.json});
    if (!apart) return apart;
  }
  const auto instrument = read_instrument(*arguments.instrument);
  if (!instrument) return tl::unexpected(instrument.error());
  if (!arguments.timebase_given && instrument->timebase) {
    input->timebase = *instrument->timebase;
  }
  if (!input->reference_hz && instrument->reference) {
    take_reference(*instrument->reference, *input);
  }
  if (instrument->input_jitter_rms) {
    // On every edge beside the clock's own.
    const double own = input->jitter.value_or(Seconds(0.0)).value();
    input->jitter =
        Seconds(std::hypot(own, instrument->input_jitter_rms->value()));
  }
  return {};
}

// Only of a load is there anything to be drawn.
Result<void> write_pictures(const LoadPlan& plan,
                            const PlanArguments& arguments,
                            const std::string& version) {
  if (arguments.report) {
    const auto make = [&] { return plan_page(plan, version); };
    if (auto done = write_page(make, *arguments.report); !done) return done;
  }
  if (!arguments.plots) return {};
  return write_charts({pull_chart(plan)}, *arguments.plots);
}

template <class Plan>
Result<void> write_pictures(const Plan&, const PlanArguments&,
                            const std::string&) {
  return {};
}

Result<void> check_plan_outputs(const PlanArguments& arguments) {
  std::vector<std::string> outputs;
  for (const auto& path : {arguments.json, arguments.report}) {
    if (path) outputs.push_back(*path);
  }
  if (auto checked = check_outputs({}, outputs); !checked) return checked;
  return check_pictures(arguments.plots, "plan");
}

}  // namespace

Result<void> run_plan(PlanArguments arguments, const std::string& version) {
  if (auto checked = check_plan_outputs(arguments); !checked) return checked;
  const auto added = add_instrument(arguments);
  if (!added) return added;
  return std::visit(
      [&](const auto& input) -> Result<void> {
        const auto plan = plan_of(input);
        if (!plan) return tl::unexpected(plan.error());
        const auto drawn = write_pictures(*plan, arguments, version);
        if (!drawn) return drawn;
        if (arguments.json) {
          const auto done =
              write_output(*arguments.json, plan_json(*plan, version));
          if (!done || *arguments.json == "-") return done;
        }
        return print(arguments.quiet ? plan_line(*plan) : plan_text(*plan));
      },
      arguments.input);
}

}  // namespace clockassay
