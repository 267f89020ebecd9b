# Bytes of a file as C++, for scripts that make sources.

# Appends a constant CONSTANT with the file's bytes to `data`; `size_out` gets how many they are.
macro(embed_bytes file constant size_out)
  file(READ "${file}" hex HEX)
  string(LENGTH "${hex}" ${size_out})
  math(EXPR ${size_out} "${${size_out}} / 2")
  string(REGEX REPLACE "(..)" "\\\\x\\1" text "${hex}")
  # In lines, as a compiler may limit one literal.
  string(REGEX REPLACE "((\\\\x..\\\\x..\\\\x..\\\\x..)(\\\\x..\\\\x..\\\\x..\\\\x..)(\\\\x..\\\\x..\\\\x..\\\\x..))"
                       "\\1\"\n    \"" text "${text}")
  string(APPEND data "constexpr char ${constant}[] =\n    \"${text}\";\n")
endmacro()
