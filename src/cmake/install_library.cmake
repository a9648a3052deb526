# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the stages but app, which is the program: archives and headers, a
# package of CMake and one of pkg-config.
include(CMakePackageConfigHelpers)
set(package_dir ${CMAKE_INSTALL_LIBDIR}/cmake/clockassay)
set(stages base oscillator capture edges estimate uncertainty verdict history
  drift plan analysis report)

# Everything, by one name.
add_library(clockassay_library INTERFACE)
set_target_properties(clockassay_library PROPERTIES EXPORT_NAME clockassay)
set(installed clockassay_library)
set(CLOCKASSAY_PC_LIBS "")
foreach(stage ${stages})
  target_link_libraries(clockassay_library INTERFACE clockassay_${stage})
  set_target_properties(clockassay_${stage} PROPERTIES EXPORT_NAME ${stage})
  list(APPEND installed clockassay_${stage})
  # What is used stands behind what uses it.
  string(PREPEND CLOCKASSAY_PC_LIBS " -lclockassay_${stage}")
endforeach()
install(TARGETS ${installed} EXPORT clockassay-targets
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT development)
install(EXPORT clockassay-targets NAMESPACE clockassay::
  DESTINATION ${package_dir} COMPONENT development)
install(DIRECTORY ${PROJECT_SOURCE_DIR}/include/clockassay
  DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT development
  FILES_MATCHING PATTERN *.h)

configure_package_config_file(
  ${CMAKE_CURRENT_LIST_DIR}/clockassay-config.cmake.in
  ${PROJECT_BINARY_DIR}/clockassay-config.cmake
  INSTALL_DESTINATION ${package_dir})
# Before 1.0 each minor version may change the library.
write_basic_package_version_file(
  ${PROJECT_BINARY_DIR}/clockassay-config-version.cmake
  COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/clockassay-config.cmake
  ${PROJECT_BINARY_DIR}/clockassay-config-version.cmake
  ${CMAKE_CURRENT_LIST_DIR}/clockassay-libraries.cmake
  DESTINATION ${package_dir} COMPONENT development)

# Relative, so that the folder can be moved.
file(RELATIVE_PATH CLOCKASSAY_PC_TO_PREFIX
  /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
string(REGEX REPLACE "/$" "" CLOCKASSAY_PC_TO_PREFIX
  "${CLOCKASSAY_PC_TO_PREFIX}")
configure_file(${CMAKE_CURRENT_LIST_DIR}/clockassay.pc.in
  ${PROJECT_BINARY_DIR}/clockassay.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/clockassay.pc
  DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig COMPONENT development)
