# Completion for bash. Commands, options and words are asked of the program itself, so that
# they are always its own.

# _omogon_options COMMAND: one option a line, a placeholder of words behind its "=".
_omogon_options() {
    LC_ALL=C "$1" "$2" --help 2>/dev/null |
        sed -nE 's/^  (-[a-z], )?(--[a-z-]+(=[^ ]+)?).*/\2/p'
}

_omogon() {
    local program=${COMP_WORDS[0]} word=${COMP_WORDS[COMP_CWORD]}
    local before=${COMP_WORDS[COMP_CWORD - 1]} command=${COMP_WORDS[1]:-} option words
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        words=$(LC_ALL=C "$program" --help 2>/dev/null | sed -nE 's/^  ([a-z]+)  +.*/\1/p')
        mapfile -t COMPREPLY < <(compgen -W "$words --help --version" -- "$word")
        return
    fi
    # "--side=l" comes as three words, "--side l" as two.
    if [ "$word" = = ]; then
        word=
    elif [ "$before" = = ]; then
        before=${COMP_WORDS[COMP_CWORD - 2]}
    fi
    case $before in
    -m | --movement)
        words='flexion extension abduction adduction scaption external-rotation
            internal-rotation pendulum'
        ;;
    -s | --side)
        words='left right'
        ;;
    --position)
        words='standing seated supine side-lying prone'
        ;;
    --*)
        # A placeholder like left|right names its words itself.
        option=$(_omogon_options "$program" "$command" | grep -- "^$before=" | head -n 1)
        words=${option#*=}
        if [[ $option == *=* && $words == *[a-z]* ]]; then
            words=${words//|/ }
        elif [[ $option == *=* ]]; then # a file, a number, a text
            mapfile -t COMPREPLY < <(compgen -f -- "$word")
            return
        else
            words=
        fi
        ;;
    *) words= ;;
    esac
    if [ -n "$words" ]; then
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
    elif [[ $word == -* ]]; then
        words=$(_omogon_options "$program" "$command" | sed 's/=.*//')
        mapfile -t COMPREPLY < <(compgen -W "$words --help" -- "$word")
    else
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
    fi
}

complete -o filenames -F _omogon omogon
