# SPDX-License-Identifier: GPL-3.0-or-later
#   cmake -DSOURCES=… -DWORK=… -DCHECK=… -P verilator.cmake
find_program(VERILATOR verilator)
if(NOT VERILATOR)
  message("verilator is not installed, so its dumps cannot be checked. "
    "Install it: apt-get install verilator")
  return()
endif()

# A dump of an earlier run must not be taken for one of this.
file(REMOVE_RECURSE ${WORK})
file(MAKE_DIRECTORY ${WORK})
# The bench is compiled to a program; without optimising, that is quicker.
execute_process(
  COMMAND ${VERILATOR} --binary --trace --Mdir ${WORK} -Wno-fatal
    --top-module bus_clock
    -MAKEFLAGS "OPT_FAST=-O0 OPT_SLOW=-O0 OPT_GLOBAL=-O0" -j 1
    ${SOURCES}/bus_clock.v
  OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${WORK}/Vbus_clock WORKING_DIRECTORY ${WORK}
  COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${CHECK} COMMAND_ERROR_IS_FATAL ANY)
