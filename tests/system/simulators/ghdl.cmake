# SPDX-License-Identifier: GPL-3.0-or-later
#   cmake -DSOURCES=… -DWORK=… -DCHECK=… -P ghdl.cmake
find_program(GHDL ghdl)
if(NOT GHDL)
  message("ghdl is not installed, so dumps of VHDL benches cannot be checked. "
    "Install it: apt-get install ghdl")
  return()
endif()

# A dump of an earlier run must not be taken for one of this.
file(REMOVE_RECURSE ${WORK})
file(MAKE_DIRECTORY ${WORK})
foreach(step
    "-a;--std=08;${SOURCES}/clocks.vhdl"
    "-e;--std=08;clocks"
    "-r;--std=08;clocks;--vcd=clocks.vcd;--stop-time=10us")
  execute_process(COMMAND ${GHDL} ${step} WORKING_DIRECTORY ${WORK}
    COMMAND_ERROR_IS_FATAL ANY)
endforeach()
execute_process(COMMAND ${CHECK} COMMAND_ERROR_IS_FATAL ANY)
