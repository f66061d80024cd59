# Files that a room carries inside the program: each becomes a string in one made source file. A
# licence beside a file of somebody else's stands before it as a comment.
#   embed(room_web NAMES kCurveScript FILES daemon/web/curve.js)
function(embed target)
  cmake_parse_arguments(EMBED "" "LICENCE" "NAMES;FILES" ${ARGN})
  set(before "")
  if(EMBED_LICENCE)
    file(READ ${EMBED_LICENCE} licence)
    set(before "/*\n${licence}*/\n")
  endif()
  foreach(name file IN ZIP_LISTS EMBED_NAMES EMBED_FILES)
    file(READ ${file} text)
    set(made ${CMAKE_CURRENT_BINARY_DIR}/embedded/${name}.cpp)
    file(WRITE ${made}.new "// Made by cmake/embed.cmake from ${file}.
#include <string_view>

namespace clutchward {
extern const std::string_view ${name};
const std::string_view ${name} = R\"EMBEDDED(${before}${text})EMBEDDED\";
}  // namespace clutchward
")
    file(COPY_FILE ${made}.new ${made} ONLY_IF_DIFFERENT)
    file(REMOVE ${made}.new)
    target_sources(${target} PRIVATE ${made})
    set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/${file})
  endforeach()
endfunction()
