// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/cautions.h"

#include "verdict/wording.h"

namespace clockassay {
namespace {

std::string never_probe() {
  return "Never probe the crystal's pins: a probe is load, it shifts or stops "
         "the clock. Measure at a buffered clock output.";
}

}  // namespace

const char* plan_kind_name(PlanKind kind) {
  switch (kind) {
    case PlanKind::kLoad:
      return "load";
    case PlanKind::kDrive:
      return "drive";
    case PlanKind::kPath:
      return "path";
    case PlanKind::kCapture:
      return "capture";
  }
  return "";
}

std::vector<std::string> plan_cautions(PlanKind kind) {
  switch (kind) {
    case PlanKind::kLoad:
      return {soldering_caution(), never_probe()};
    case PlanKind::kDrive:
      return {
          "Try the start on the board, cold and hot, at the lowest supply, "
          "each time from power-off, and again after a resistor is fitted: "
          "it takes gain.",
          soldering_caution(), never_probe()};
    case PlanKind::kPath:
      return {
          "Before a clock is raised: flash wait states, supply range and "
          "bus limits; a wrong set-up can lock out the debugger. Take "
          "motors, heaters and mains loads off before the first start.",
          "A new clock moves every harmonic: earlier emission tests no "
          "longer cover the board. Local rules and people qualified for it "
          "come first."};
    case PlanKind::kCapture:
      return {never_probe(),
              "A result is one capture of one board at one temperature: no "
              "calibration certificate, and no clearance of anything to do "
              "with safety. Local rules come first."};
  }
  return {};
}

}  // namespace clockassay
