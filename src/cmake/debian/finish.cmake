# SPDX-License-Identifier: GPL-3.0-or-later
# Run by cpack on what is installed, before it becomes a Debian package: what the
# policy of Debian wants otherwise than other systems.
foreach(component IN LISTS CPACK_COMPONENTS_ALL)
  string(TOUPPER ${component} upper)
  set(package ${CPACK_DEBIAN_${upper}_PACKAGE_NAME})
  set(usr ${CPACK_TEMPORARY_DIRECTORY}/${component}/usr)
  if(NOT IS_DIRECTORY ${usr})
    message(FATAL_ERROR "${usr}: found no such folder")
  endif()

  # Policy 12.1: manual pages are packed.
  file(GLOB pages ${usr}/share/man/man1/*.1)
  foreach(page IN LISTS pages)
    execute_process(COMMAND gzip -9n ${page} COMMAND_ERROR_IS_FATAL ANY)
  endforeach()
  # The place of zsh's completions that come with packages.
  if(EXISTS ${usr}/share/zsh/site-functions)
    file(RENAME ${usr}/share/zsh/site-functions
      ${usr}/share/zsh/vendor-completions)
  endif()
  # Policy 12.5: each package has its copyright file, and no copy of a licence
  # that Debian has.
  file(REMOVE ${usr}/share/doc/clockassay/LICENSE)
  file(COPY ${CMAKE_CURRENT_LIST_DIR}/copyright
    DESTINATION ${usr}/share/doc/${package})
  # Policy 12.7: what the package was made from, and when.
  string(TIMESTAMP now "%a, %d %b %Y %H:%M:%S +0000" UTC)
  set(changelog ${usr}/share/doc/${package}/changelog)
  file(WRITE ${changelog}
    "clockassay (${CPACK_PACKAGE_VERSION}) unstable; urgency=medium\n\n"
    "  * Made from the source of clockassay ${CPACK_PACKAGE_VERSION}.\n\n"
    " -- ${CPACK_PACKAGE_CONTACT}  ${now}\n")
  execute_process(COMMAND gzip -9n ${changelog} COMMAND_ERROR_IS_FATAL ANY)
  file(CHMOD ${usr}/share/doc/${package}/copyright ${changelog}.gz
    PERMISSIONS OWNER_READ OWNER_WRITE GROUP_READ WORLD_READ)
  # Policy 10.2: archives go without what debuggers want.
  file(GLOB archives ${usr}/lib/*.a ${usr}/lib/*/*.a)
  foreach(archive IN LISTS archives)
    execute_process(COMMAND strip --strip-debug --remove-section=.comment
      --remove-section=.note --enable-deterministic-archives ${archive}
      COMMAND_ERROR_IS_FATAL ANY)
  endforeach()
endforeach()
