// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/plan/capture_plan.h"
#include "clockassay/plan/drive_plan.h"
#include "clockassay/plan/load_plan.h"
#include "clockassay/plan/path_plan.h"
#include "clockassay/report/chart.h"

namespace clockassay {

// A plan for a person, at most 80 columns.
std::string plan_text(const LoadPlan& plan);
std::string plan_text(const DrivePlan& plan);
std::string plan_text(const PathPlan& plan);
std::string plan_text(const CapturePlan& plan);

// What it comes to, in one line: the figure that decides.
std::string plan_line(const LoadPlan& plan);
std::string plan_line(const DrivePlan& plan);
std::string plan_line(const PathPlan& plan);
std::string plan_line(const CapturePlan& plan);

// The same for a program: schema "clockassay/1", command "plan".
std::string plan_json(const LoadPlan& plan, const std::string& tool_version);
std::string plan_json(const DrivePlan& plan, const std::string& tool_version);
std::string plan_json(const PathPlan& plan, const std::string& tool_version);
std::string plan_json(const CapturePlan& plan, const std::string& tool_version);

/// The pull over the loads that the plan speaks of, with the point of the board
/// and the box that capacitors and stray leave open.
Chart pull_chart(const LoadPlan& plan);

/// The plan as a page with that chart, as html_report() makes them.
/// Errors: as svg_chart()
Result<std::string> plan_page(const LoadPlan& plan,
                              const std::string& tool_version);

}  // namespace clockassay
