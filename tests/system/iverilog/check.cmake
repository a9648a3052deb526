# SPDX-License-Identifier: GPL-3.0-or-later
# Has an independent simulator write the dumps, then checks how they are read.
#   cmake -DSOURCES=… -DWORK=… -DCHECK=… -P check.cmake
find_program(IVERILOG iverilog)
find_program(VVP vvp)
if(NOT IVERILOG OR NOT VVP)
  message(FATAL_ERROR
    "iverilog is not installed, so captures of an independent simulator cannot "
    "be checked. Install it: apt-get install iverilog")
endif()

file(MAKE_DIRECTORY ${WORK})
foreach(bench dividers ratio stop)
  # A dump of an earlier run must not be taken for one of this.
  file(REMOVE ${WORK}/${bench}.vcd)
  execute_process(
    COMMAND ${IVERILOG} -o ${WORK}/${bench}.vvp ${SOURCES}/${bench}.v
    COMMAND_ERROR_IS_FATAL ANY)
  execute_process(
    COMMAND ${VVP} -n ${WORK}/${bench}.vvp
    WORKING_DIRECTORY ${WORK}
    COMMAND_ERROR_IS_FATAL ANY)
endforeach()
execute_process(COMMAND ${CHECK} COMMAND_ERROR_IS_FATAL ANY)
