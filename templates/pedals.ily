\version "2.24.0"

%% Pedal marks for the concert harp: setting diagrams, change letters, and the rows they stand in.
%%
%%   \pedalDiagram "d1" "^v-|vv-o^"    a whole setting, pedals in the order D C B | E F G A:
%%                                     ^ flat, - natural, v sharp, | between B and E;
%%                                     o before a pedal rings it (it has just moved)
%%   \pedalLine    "d1" "D♭ C♯ B | E♯ F♯ G oA♭"     the same in letters, in one line
%%   \pedalRows    "d1" "E♯ F♯ G oA♭" "D♭ C♯ B"     the same in two: right foot above left
%%   \pedalLetter  "c1" "F♯"           one change
%%   \pedalLetters "c2" "F♯ G♮" "C♯"   changes of both feet: right foot above, left foot below
%%
%% Names may be longer, as in "Fis" or "fa♯"; a space inside a name is U+00A0.
%%
%%   c'4 \stringNames #UP "s1" "E♯"     the string that plays a note, at the note itself: (=E♯),
%%                                     over it (UP) or under it (DOWN); several as "E♯ B♯"; what a
%%                                     trill adds as "E=F♭"
%%   s4 \stringNamesInRow "s1" "E♯"    the same in a row of names, where the note has no room
%%
%% What an editor has added stands in brackets: "[^v-|vv-o^]", "[F♯]", "F♯ [G♮]", and around both
%% lines of a stack  "[F♯" "C♯]".  Round brackets print round ones, braces small type: "{F♯}".
%%
%%   \pedalRoom #2.5                  prints nothing; keeps 2.5 staff spaces free below the row, or
%%                                     with a minus sign above it
%%
%% Each hangs on a skip of a PedalLane.  The first string is the mark's name: any text, best unique.
%% Sizes follow the lane:  \new PedalLane \with { \override TextScript.font-size = #-1 } ...


%% ---- an editor's brackets ---------------------------------------------------------------------

#(define pedal-bracket:line 0.13)       % thickness of a bracket, in staff spaces
#(define pedal-bracket:arm 0.42)        % length of its arms, the upright included
#(define pedal-bracket:gap 0.30)        % between a bracket and what it holds

#(define (pedal-bracket:upright side bottom top)
   "One square bracket from BOTTOM to TOP, its arms reaching inwards; SIDE is LEFT or RIGHT."
   (let* ((line pedal-bracket:line)
          (arm pedal-bracket:arm)
          (across (if (eqv? side LEFT) (cons 0 arm) (cons (- arm) 0)))
          (upright (if (eqv? side LEFT) (cons 0 line) (cons (- line) 0))))
     (ly:stencil-add
      (make-filled-box-stencil upright (cons bottom top))
      (make-filled-box-stencil across (cons bottom (+ bottom line)))
      (make-filled-box-stencil across (cons (- top line) top)))))

#(define pedal-bracket:small (magstep -2.5))    % an addition in small type

%% How a text opens and closes what an editor has added, and what is printed for it.
#(define pedal-bracket:kinds '((#\[ . square) (#\( . round) (#\{ . small)))
#(define pedal-bracket:opening (map car pedal-bracket:kinds))
#(define pedal-bracket:closing '(#\] #\) #\}))

#(define (pedal-bracket:kind text)
   "The kind of brackets that TEXT opens, or #f."
   (and (not (string-null? text)) (assv-ref pedal-bracket:kinds (string-ref text 0))))

#(define (pedal-bracket:closes? text)
   (and (not (string-null? text))
        (memv (string-ref text (1- (string-length text))) pedal-bracket:closing)
        #t))

#(define (pedal-bracket:without text)
   (string-delete
    (lambda (sign)
      (or (memv sign pedal-bracket:opening) (memv sign pedal-bracket:closing)))
    text))

#(define (pedal-bracket:width kind)
   "How far brackets reach in front of what they hold, at size 1."
   (if (eq? kind 'small) 0 (+ pedal-bracket:gap pedal-bracket:arm)))

#(define (pedal-bracket:around ink kind bottom top size)
   "INK between two brackets from BOTTOM to TOP, or in small type."
   (let* ((wide (ly:stencil-extent ink X))
          (reach (* size (pedal-bracket:width kind)))
          (placed
           (lambda (side x)
             (ly:stencil-translate-axis
              (ly:stencil-scale
               (pedal-bracket:upright side (/ bottom size) (/ top size)) size size)
              x X))))
     (case kind
       ((square)
        (ly:stencil-add
         ink (placed LEFT (- (car wide) reach)) (placed RIGHT (+ (cdr wide) reach))))
       ((round)
        (ly:stencil-add
         ink
         (parenthesize-stencil
          (make-transparent-box-stencil wide (cons bottom top))
          (* size pedal-bracket:line 0.6) (* size pedal-bracket:arm) 0 (* size pedal-bracket:gap))))
       ((small)
        (ly:stencil-scale ink pedal-bracket:small pedal-bracket:small))
       (else ink))))


%% ---- the diagram ------------------------------------------------------------------------------

#(define pedal-diagram:spread 1.30)     % from one upright mark to the next, in staff spaces
#(define pedal-diagram:gap 0.70)        % added between B and E for the divider
#(define pedal-diagram:mark-width 0.36)
#(define pedal-diagram:mark-height 1.06)
#(define pedal-diagram:lift 0.78)       % from the line to the middle of a raised or lowered mark
#(define pedal-diagram:line 0.14)       % thickness of line and divider
#(define pedal-diagram:ring 0.12)       % thickness of a ring
%% Between a mark and its ring: beside, above.  Wide enough to be seen as white at two metres, and
%% narrow enough for two rings side by side.
#(define pedal-diagram:ring-air '(0.34 . 0.22))
#(define pedal-diagram:air 0.35)        % kept free on both sides

%% From the line to the upper and lower edge: a ring at the outermost place fits, so that rings
%% never change the height of a row.
#(define pedal-diagram:half-height
   (+ pedal-diagram:lift (/ pedal-diagram:mark-height 2)
      (cdr pedal-diagram:ring-air) pedal-diagram:ring))

#(define (pedal-diagram:read text)
   "The seven pedals of TEXT, each as (place . ringed?), place being 1, 0 or -1; #f if it is wrong."
   (let loop ((rest (delete #\space (string->list text))) (ringed #f) (read '()))
     (cond
      ((null? rest)
       (and (not ringed) (= (length read) 7) (reverse read)))
      ((char=? (car rest) #\|)
       (and (not ringed) (= (length read) 3) (loop (cdr rest) #f read)))
      ((char=? (car rest) #\o)
       (and (not ringed) (loop (cdr rest) #t read)))
      ((assv (car rest) '((#\^ . 1) (#\- . 0) (#\v . -1)))
       => (lambda (found) (loop (cdr rest) #f (cons (cons (cdr found) ringed) read))))
      (else #f))))

#(define (pedal-diagram:draw pedals kind)
   (let* ((width pedal-diagram:mark-width)
          (high (/ pedal-diagram:mark-height 2))
          (centre (lambda (index)
                    (+ (/ pedal-diagram:spread 2)
                       (* index pedal-diagram:spread)
                       (if (> index 2) pedal-diagram:gap 0))))
          (end (+ (centre 6) (/ pedal-diagram:spread 2)))
          (divider (/ (+ (centre 2) (centre 3)) 2))
          (reach (+ pedal-diagram:lift high))
          (upright
           (lambda (index pedal)
             (let ((x (centre index))
                   (y (* (car pedal) pedal-diagram:lift)))
               (ly:stencil-add
                (make-filled-box-stencil
                 (cons (- x (/ width 2)) (+ x (/ width 2)))
                 (cons (- y high) (+ y high)))
                (if (cdr pedal)
                    (ly:stencil-translate
                     (make-oval-stencil
                      (+ (/ width 2) (car pedal-diagram:ring-air) (/ pedal-diagram:ring 2))
                      (+ high (cdr pedal-diagram:ring-air) (/ pedal-diagram:ring 2))
                      pedal-diagram:ring #f)
                     (cons x y))
                    empty-stencil)))))
          (bare
           (ly:stencil-add
            (make-line-stencil pedal-diagram:line 0 0 end 0)
            (make-line-stencil pedal-diagram:line divider (- reach) divider reach)
            (apply ly:stencil-add (map upright (iota 7) pedals))))
          (ink
           (pedal-bracket:around
            bare kind (- pedal-diagram:half-height) pedal-diagram:half-height 1))
          (wide (if kind (ly:stencil-extent ink X) (cons 0 end))))
     (ly:stencil-add
      ink
      (make-transparent-box-stencil
       (cons (- (car wide) pedal-diagram:air) (+ (cdr wide) pedal-diagram:air))
       (cons (- pedal-diagram:half-height) pedal-diagram:half-height)))))

#(define-markup-command (pedal-diagram layout props pattern) (string?)
   #:category music
   #:properties ((font-size 0))
   "Draw a pedal setting such as @code{^v-|vv-o^}; always the same height, and the same width
but for the brackets around one such as @code{[^v-|vv-o^]}."
   (let* ((kind (and (pedal-bracket:closes? pattern) (pedal-bracket:kind pattern)))
          (pedals (pedal-diagram:read
                   (if kind (substring pattern 1 (1- (string-length pattern))) pattern)))
          (size (magstep font-size)))
     (if pedals
         (ly:stencil-scale (pedal-diagram:draw pedals kind) size size)
         (ly:error "pedals.ily: '~a' is no pedal diagram; write seven of ^ - v, as in ^v-|vv-^"
                   pattern))))


%% ---- letters ----------------------------------------------------------------------------------

#(define pedal-letter:air 0.40)         % kept free on both sides, in staff spaces
#(define pedal-letter:depth 0.50)       % kept free below the baseline
#(define pedal-letter:height 2.05)      % from the baseline to the upper edge
#(define pedal-letter:leading 2.55)     % from baseline to baseline in a stack
#(define pedal-letter:bracket-bottom -0.42)  % an editor's brackets, from the baseline
#(define pedal-letter:bracket-top 1.98)

%% Sign, its glyph, and how far it is raised so that it belongs to a capital.
#(define pedal-letter:signs
   '(("♭" "accidentals.flat" 0.50) ("b" "accidentals.flat" 0.50)
     ("♮" "accidentals.natural" 0.78) ("n" "accidentals.natural" 0.78)
     ("♯" "accidentals.sharp" 0.78) ("#" "accidentals.sharp" 0.78)))

%% The signs of the music font are lighter than bold letters, so that they are printed thicker.
#(define pedal-letter:thicker 0.055)

#(define-markup-command (pedal-sign layout props glyph) (string?)
   #:category music
   #:properties ((font-size 0) (font-series 'bold))
   "Print an accidental as heavy as the letters beside it."
   (let* ((ink (interpret-markup layout props (make-musicglyph-markup glyph)))
          (by (if (eq? font-series 'bold) (* (magstep font-size) pedal-letter:thicker) 0))
          (moved (lambda (x y) (ly:stencil-translate ink (cons (* x by) (* y by))))))
     (if (zero? by)
         ink
         (ly:stencil-add (moved -1 0) (moved 1 0) (moved 0 -0.7) (moved 0 0.7)))))

%% A name with its sign, such as F♯ or fa♯, or one that needs none, such as Fis.  Lengths inside a
%% markup do not grow with the font, so that SIZE is applied here.
#(define (pedal-letter:markup word size)
   (let* ((last (1- (string-length word)))
          (name (substring word 0 (max 0 last)))
          (sign (and (> last 0) (assoc (substring word last) pedal-letter:signs))))
     (if (not (and (> (string-length word) 0) (string-any char-alphabetic? word)))
         (ly:error "pedals.ily: '~a' names no pedal; write a letter and its sign, as in F♯" word))
     (if sign
         (make-concat-markup
          (list
           (make-simple-markup name)
           (make-hspace-markup (* size 0.2))
           (make-raise-markup
            (* size (- (third sign) (if (string-any char-upper-case? name) 0 0.22)))
            (make-fontsize-markup -2 (make-pedal-sign-markup (second sign))))))
         (make-simple-markup word))))

%% The font of a row; what the row does not say is upright and bold, without serifs.
#(define (pedal-letter:props props)
   (let ((said (lambda (name default)
                 (let ((value (chain-assoc-get name props #f)))
                   (if (symbol? value) value default)))))
     (cons `((font-family . ,(said 'font-family 'sans))
             (font-series . ,(said 'font-series 'bold))
             (font-shape . ,(said 'font-shape 'upright)))
           props)))

%% Brackets that one line opens and another closes.
#(define (pedal-letter:opens? line)
   (and (pedal-bracket:kind line)
        (not (any pedal-bracket:closes? (string-split line #\space)))))
#(define (pedal-letter:closes? line)
   (and (pedal-bracket:closes? line)
        (not (any pedal-bracket:kind (string-split line #\space)))))

#(define (pedal-letter:groups line)
   "The words of LINE in groups of neighbours, each (kind of brackets or #f, word ...)."
   (let loop ((words (filter (lambda (word) (not (string-null? word)))
                             (string-split line #\space)))
              (inside #f) (groups '()))
     (if (null? words)
         (reverse (map (lambda (group) (cons (car group) (reverse (cdr group)))) groups))
         (let* ((closes (pedal-bracket:closes? (car words)))
                (word (pedal-bracket:without (car words)))
                (held (or inside (pedal-bracket:kind (car words))))
                (joins (and (pair? groups) (if held inside (not (caar groups))))))
           (loop (cdr words)
                 (and (not closes) held)
                 (if joins
                     (cons (cons* (caar groups) word (cdar groups)) (cdr groups))
                     (cons (list held word) groups)))))))

#(define-markup-command (pedal-letters layout props lines) (list?)
   #:category music
   #:properties ((font-size 0))
   "Print lines of pedal letters, top to bottom, on the baseline of the last.

The outline of a line is a box of fixed height, so that every row has one height.  What stands in
brackets gets brackets; those around several lines are as high as all of them."
   (let* ((size (magstep font-size))
          (space (* 0.55 size))
          (count (length lines))
          (baseline (lambda (index) (* (- count 1 index) size pedal-letter:leading)))
          (tall (and (> count 1)
                     (pedal-letter:opens? (first lines))
                     (pedal-letter:closes? (last lines))
                     (pedal-bracket:kind (first lines))))
          (texts (if tall (map pedal-bracket:without lines) lines))
          (bottom (* size pedal-letter:bracket-bottom))
          (top (* size pedal-letter:bracket-top))
          (written
           (lambda (words)
             (interpret-markup
              layout
              (prepend-alist-chain 'word-space space (pedal-letter:props props))
              (make-line-markup (map (lambda (word) (pedal-letter:markup word size)) words)))))
          ;; A bracket hangs in front of its letter, so that letters stand below one another.
          (line
           (lambda (text index)
             (ly:stencil-translate-axis
              (fold
               (lambda (group before)
                 (let* ((ink (written (cdr group)))
                        (held (pedal-bracket:around ink (car group) bottom top size)))
                   (if (ly:stencil-empty? before)
                       held
                       (ly:stencil-stack before X RIGHT held space))))
               empty-stencil (pedal-letter:groups text))
              (baseline index) Y)))
          (inks (apply ly:stencil-add (map line texts (iota count))))
          (ink (pedal-bracket:around inks tall bottom (+ top (baseline 0)) size))
          (wide (ly:stencil-extent ink X))
          (air (* size pedal-letter:air)))
     (ly:stencil-add
      ink
      (make-transparent-box-stencil
       (cons (- (car wide) air) (+ (cdr wide) air))
       (cons (* size (- pedal-letter:depth)) (+ (baseline 0) (* size pedal-letter:height)))))))


%% ---- a setting in letters ---------------------------------------------------------------------

#(define pedal-setting:air 2.0)         % kept free on both sides, so that two are told apart
#(define pedal-setting:space 0.85)      % between two names, so that a ring fits
#(define pedal-setting:depth 0.72)      % from the baseline to the lower edge of a ring
#(define pedal-setting:height 2.27)     % and to the upper edge
#(define pedal-setting:leading 3.05)    % from baseline to baseline
#(define pedal-setting:ring-air 0.36)   % between a name and the sides of its ring

#(define-markup-command (pedal-setting layout props lines) (list?)
   #:category music
   #:properties ((font-size 0))
   "Print a whole setting in letters; @code{o} before a name rings it, @code{|} parts the feet.

Rings never change the height of a row."
   (let* ((size (magstep font-size))
          (kind (and (pedal-bracket:closes? (last lines)) (pedal-bracket:kind (first lines))))
          (texts (if kind (map pedal-bracket:without lines) lines))
          (inner (pedal-letter:props props))
          (bottom (* size (- pedal-setting:depth)))
          (top (* size pedal-setting:height))
          (thick (* size pedal-diagram:ring))
          (baseline (lambda (index)
                      (* (- (length lines) 1 index) size pedal-setting:leading)))
          (ring
           (lambda (ink)
             (let ((wide (ly:stencil-extent ink X))
                   (high (/ (- top bottom thick) 2)))
               (ly:stencil-add
                ink
                (ly:stencil-translate
                 (make-oval-stencil
                  (max (+ (/ (interval-length wide) 2) (* size pedal-setting:ring-air))
                       (* 0.85 high))
                  high thick #f)
                 (cons (interval-center wide) (/ (+ top bottom) 2)))))))
          (draw
           (lambda (word)
             (cond
              ((string=? word "|")
               (make-line-stencil (* size pedal-diagram:line)
                                  0 (* 0.8 bottom) 0 (* 0.95 top)))
              ((and (> (string-length word) 1) (char=? #\o (string-ref word 0)))
               (ring (interpret-markup layout inner (pedal-letter:markup (substring word 1) size))))
              (else (interpret-markup layout inner (pedal-letter:markup word size))))))
          (line
           (lambda (text index)
             (ly:stencil-translate-axis
              (stack-stencils
               X RIGHT (* size pedal-setting:space)
               (map draw (filter (lambda (word) (not (string-null? word)))
                                 (string-split text #\space))))
              (baseline index) Y)))
          (inks (apply ly:stencil-add (map line texts (iota (length texts)))))
          (ink (pedal-bracket:around inks kind bottom (+ top (baseline 0)) size))
          (wide (ly:stencil-extent ink X))
          (air (* size pedal-setting:air)))
     (ly:stencil-add
      ink
      (make-transparent-box-stencil
       (cons (- (car wide) air) (+ (cdr wide) air))
       (cons bottom (+ top (baseline 0)))))))

%% ---- the string of a note ---------------------------------------------------------------------

#(define string-names:size -1)        % steps from the size of other text
#(define string-names:leading 2.15)     % from baseline to baseline

#(define (string-names:markup name size)
   "NAME in brackets after a sign of equality, as in (=E♯); what is read may stand before that."
   (let* ((sides (string-split name #\=))
          (air (make-hspace-markup (* size 0.12))))
     (make-concat-markup
      (append
       (list "(")
       (if (pair? (cdr sides)) (list (pedal-letter:markup (car sides) size) air) '())
       (list "=" air (pedal-letter:markup (last sides) size) air ")")))))

%% Light and in brackets with the sign of equality, so that nobody takes it for a pedal that moves.
#(define-markup-command (string-names layout props names) (list?)
   #:category music
   #:properties ((font-size 0))
   "Print names of strings, top to bottom, each in brackets of its own."
   (let* ((step (+ font-size string-names:size))
          (size (magstep step))
          (inner (cons `((font-size . ,step) (font-series . medium) (font-shape . upright)) props))
          (count (length names))
          (ink
           (apply
            ly:stencil-add
            (map
             (lambda (name index)
               (ly:stencil-translate-axis
                (ly:stencil-aligned-to
                 (interpret-markup
                  layout inner
                  (string-names:markup name size))
                 X CENTER)
                (* (- count 1 index) size string-names:leading) Y))
             names (iota count)))))
     ;; Notes and neighbours keep clear of the whole box, not of each letter's outline.
     (ly:stencil-add
      ink
      (make-transparent-box-stencil (ly:stencil-extent ink X) (ly:stencil-extent ink Y)))))

stringNames =
#(define-event-function (side name strings) (ly:dir? string? string?)
   #{ \tweak output-attributes #`((id . ,name) (class . "pedal-strings"))
      \tweak direction #side
      \tweak self-alignment-X #CENTER
      \tweak parent-alignment-X #CENTER
      \tweak extra-spacing-width #'(-0.2 . 0.2)
      \tweak outside-staff-padding #0.35
      \tweak script-priority #3000   % over the signs of the note, a trill too, under a fermata
      -\markup \string-names #(string-split strings #\space) #})

stringNamesInRow =
#(define-event-function (name strings) (string? string?)
   #{ \tweak output-attributes #`((id . ,name) (class . "pedal-strings"))
      \tweak details.air #0
      ^\markup \string-names #(string-split strings #\space) #})

%% The upper letter of a stack stands as high as a diagram beside it and would be read as its label.
%% So a stack counts as wider than it is, for the rows above it alone, which then clear it.
#(define pedal-letter:shoulder 3.0)

#(define (pedal-letter:outline grob)
   (let* ((ink (ly:grob-property grob 'stencil))
          (wide (interval-widen (ly:stencil-extent ink X) pedal-letter:shoulder)))
     (ly:skylines-for-stencil
      (make-transparent-box-stencil wide (ly:stencil-extent ink Y)) X)))

%% A letter at the end of a bar moves to the left, by half its width at most and as far as the letter
%% before it allows, so that it does not reach over the barline into the next bar.
#(define pedal-letter:before-barline 0.2)

#(define (pedal-letter:inside-bar grob)
   (let* ((system (ly:grob-system grob))
          (own (grob::when grob))
          (wide (ly:grob-extent grob system X))
          (width (interval-length wide))
          (right (- (cdr wide) (* 0.4 (magstep (ly:grob-property grob 'font-size 0)))))
          (barline
           (find (lambda (column)
                   (and (eq? (grob::name column) 'NonMusicalPaperColumn)
                        (ly:moment<? own (grob::when column))
                        (let ((location (ly:grob-property column 'rhythmic-location #f)))
                          (and (pair? location) (equal? (cdr location) ZERO-MOMENT)))
                        (interval-sane? (ly:grob-extent column system X))))
                 (ly:grob-array->list (ly:grob-object system 'columns)))))
     (if barline
         (let ((over (- (+ right pedal-letter:before-barline)
                        (car (ly:grob-extent barline system X)))))
           (if (< 0 over)
               (let* ((row (ly:grob-array->list
                            (ly:grob-object (ly:grob-parent grob Y) 'elements)))
                      (ends (filter-map
                             (lambda (other)
                               (and (not (eq? other grob))
                                    (eq? (ly:grob-system other) system)
                                    (let ((extent (ly:grob-extent other system X)))
                                      (and (interval-sane? extent)
                                           (< (car extent) (car wide))
                                           (cdr extent)))))
                             row))
                      (free (- (car wide) (apply max -1000 ends))))
                 (ly:grob-translate-axis! grob (- (max 0 (min over free (/ width 2)))) X)))))))

pedalDiagram =
#(define-event-function (name pattern) (string? string?)
   #{ \tweak output-attributes #`((id . ,name) (class . "pedal-diagram"))
      \tweak details.air #pedal-diagram:air
      ^\markup \pedal-diagram #pattern #})

pedalLine =
#(define-event-function (name pedals) (string? string?)
   #{ \tweak output-attributes #`((id . ,name) (class . "pedal-diagram"))
      \tweak details.air #pedal-setting:air
      ^\markup \pedal-setting #(list pedals) #})

pedalRows =
#(define-event-function (name right left) (string? string? string?)
   #{ \tweak output-attributes #`((id . ,name) (class . "pedal-diagram"))
      \tweak details.air #pedal-setting:air
      ^\markup \pedal-setting #(list right left) #})

pedalLetter =
#(define-event-function (name letters) (string? string?)
   #{ \tweak after-line-breaking #pedal-letter:inside-bar
      \tweak output-attributes #`((id . ,name) (class . "pedal-letters"))
      \tweak details.air #pedal-letter:air
      ^\markup \pedal-letters #(list letters) #})

pedalLetters =
#(define-event-function (name right left) (string? string? string?)
   #{ \tweak vertical-skylines #(ly:make-unpure-pure-container
                                 pedal-letter:outline
                                 (lambda (grob start end) (pedal-letter:outline grob)))
      \tweak after-line-breaking #pedal-letter:inside-bar
      \tweak output-attributes #`((id . ,name) (class . "pedal-letters"))
      \tweak details.air #pedal-letter:air
      ^\markup \pedal-letters #(list right left) #})

%% Beams and stems from staff to staff are not seen when rows find their height; this holds a row
%% away from them.
#(define-markup-command (pedal-room layout props depth) (number?)
   "Hold @var{depth} staff spaces free below the row, or above it if @var{depth} is negative."
   (make-transparent-box-stencil '(0 . 1) (cons (min 0 (- depth)) (max 0 (- depth)))))

pedalRoom =
#(define-event-function (depth) (number?)
   #{ \tweak output-attributes #'((class . "room"))
      ^\markup \pedal-room #depth #})


%% ---- slurs from voice to voice -----------------------------------------------------------------

%% LilyPond draws a slur within one voice.  These two join notes of two voices, also of two staves;
%% a number tells the slurs apart, and the first note names its own voice and the other one.

slurFrom =
#(define-event-function (number from to) (index? string? string?)
   (make-music 'NoteGroupingEvent
               'span-direction START 'spanner-id number 'text (cons from to)))

slurTo =
#(define-event-function (number) (index?)
   (make-music 'NoteGroupingEvent 'span-direction STOP 'spanner-id number))

%% A slur that goes round notes of both staves may rise far above or below them; held flat it keeps
%% near the line from end to end, whatever stands there.
#(define slurs:flattest 2.5)            % staff spaces from that line to its control points

#(define (slurs-held-flat grob)
   (let ((points (ly:slur::calc-control-points grob)))
     (if (not (and (list? points) (= 4 (length points))))
         points
         (let* ((start (first points))
                (end (fourth points))
                (wide (- (car end) (car start)))
                (line (lambda (x)
                        (+ (cdr start)
                           (if (zero? wide)
                               0
                               (* (- (cdr end) (cdr start)) (/ (- x (car start)) wide))))))
                (held (lambda (point)
                        (let* ((base (line (car point)))
                               (rise (- (cdr point) base)))
                          (cons (car point)
                                (+ base (max (- slurs:flattest) (min slurs:flattest rise))))))))
           (list start (held (second points)) (held (third points)) end)))))

%% A slur from staff to staff reaches its notes, however steep that makes it.
#(define slurs:steepest 20)

#(define (slurs-across-voices context)
   (let ((starting '())
         (stopping '())
         (columns '())   ; of this moment, by the names of their voices
         (running '()))  ; (number slur voices event)
     (make-engraver
      (listeners
       ((note-grouping-event engraver event)
        (if (= START (ly:event-property event 'span-direction))
            (set! starting (cons event starting))
            (set! stopping (cons (ly:event-property event 'spanner-id) stopping)))))
      (acknowledgers
       ((note-column-interface engraver grob source)
        (set! columns (acons (ly:context-id (ly:translator-context source)) grob columns))))
      ((process-music engraver)
       (for-each
        (lambda (event)
          (let ((slur (ly:engraver-make-grob engraver 'Slur event)))
            (ly:grob-set-property! slur 'cross-staff #t)
            (ly:grob-set-nested-property! slur '(details max-slope) slurs:steepest)
            (set! running (cons (list (ly:event-property event 'spanner-id) slur
                                      (ly:event-property event 'text) event)
                                running))))
        (reverse starting))
       (set! starting '()))
      ((stop-translation-timestep engraver)
       (for-each
        (lambda (entry)
          (let* ((slur (second entry))
                 (from (assoc-ref columns (car (third entry))))
                 (to (assoc-ref columns (cdr (third entry))))
                 (begins? (not (ly:grob? (ly:spanner-bound slur LEFT))))
                 (ends? (memv (first entry) stopping)))
            (for-each
             (lambda (column)
               (if column (ly:pointer-group-interface::add-grob slur 'note-columns column)))
             (cond (begins? (list from)) (ends? (list to)) (else (list from to))))
            (if (and begins? from) (ly:spanner-set-bound! slur LEFT from))
            (if (and ends? to) (ly:spanner-set-bound! slur RIGHT to))
            (if ends? (ly:engraver-announce-end-grob engraver slur (fourth entry)))))
        running)
       (set! running (remove (lambda (entry) (memv (first entry) stopping)) running))
       (set! stopping '())
       (set! columns '()))
      ((finalize engraver)
       (for-each (lambda (entry) (ly:grob-suicide! (second entry))) running)
       (set! running '())))))


%% ---- dynamics between the staves ----------------------------------------------------------------

%% The engraver does not see that barlines and arpeggios run through the room between two staves.
%% What meets one is moved just beside it, to the side of its note.
#(define dynamics:clearance 0.3)        % staff spaces

%% The left and right edges of those lines, by their system.
#(define dynamics:lines (make-weak-key-hash-table))

#(define (dynamics:lines-of system)
   (or (hashq-ref dynamics:lines system #f)
       (let ((found
              (filter-map
               (lambda (grob)
                 (and (or (memq (grob::name grob) '(BarLine SpanBar))
                          (and (eq? 'Arpeggio (grob::name grob))
                               (eq? #t (ly:grob-property grob 'cross-staff #f))))
                      (let ((wide (ly:grob-extent grob system X)))
                        (and (not (interval-empty? wide)) wide))))
               (ly:grob-array->list (ly:grob-object system 'all-elements)))))
         (hashq-set! dynamics:lines system found)
         found)))

#(define (dynamics-beside-lines grob)
   (let* ((system (ly:grob-system grob))
          (wide (ly:grob-extent grob system X)))
     (if (not (interval-empty? wide))
         (let* ((note (ly:grob-relative-coordinate (ly:grob-parent grob X) system X))
                (left (- (car wide) dynamics:clearance))
                (right (+ (cdr wide) dynamics:clearance))
                (met (filter (lambda (line) (and (< left (cdr line)) (< (car line) right)))
                             (dynamics:lines-of system)))
                (before (filter (lambda (line) (< (car line) note)) met))
                (shift (cond ((pair? before) (- (apply max (map cdr before)) left))
                             ((pair? met) (- (apply min (map car met)) right))
                             (else 0))))
           (if (not (zero? shift))
               (ly:grob-translate-axis! grob shift X))))))


%% ---- rows above the staves --------------------------------------------------------------------

\layout {
  \context {
    \name PedalLane
    \description "One row of pedal marks, with one baseline in each system."
    \type Engraver_group
    \alias Staff
    \alias Voice
    \consists Axis_group_engraver
    \consists Output_property_engraver
    \consists Pure_from_neighbor_engraver
    \consists Font_size_engraver
    \consists Text_engraver

    keepAliveInterfaces = #'(text-script-interface)
    \override VerticalAxisGroup.remove-empty = ##t
    \override VerticalAxisGroup.remove-first = ##t
    \override VerticalAxisGroup.staff-affinity = #DOWN
    \override VerticalAxisGroup.nonstaff-relatedstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 0) (padding . 0.8) (stretchability . 0))
    \override VerticalAxisGroup.nonstaff-nonstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 3.8) (padding . 0.5) (stretchability . 0))
    %% This spring must be able to stretch.  Where all are rigid, the rows of a system that has
    %% neither tempo nor rehearsal mark are left at the last staff of the system before.
    \override VerticalAxisGroup.nonstaff-unrelatedstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 0) (padding . 1.0) (stretchability . 1000))

    %% The row is the baseline: no mark climbs out of it.  Each mark takes its room in the line,
    %% so that notes move apart and nothing runs past the line end.
    \override TextScript.outside-staff-priority = ##f
    \override TextScript.Y-offset = #0
    \override TextScript.X-offset = #0
    \override TextScript.self-alignment-X = #LEFT
    \override TextScript.extra-spacing-width = #'(0.0 . 0.0)
    \override TextScript.extra-spacing-height = #'(-0.2 . 0.2)
  }

  \context {
    \name MarkRow
    \description "Tempo, rehearsal marks, signs of navigation and endings, above all other rows."
    \type Engraver_group
    \alias Staff
    \alias Voice
    \consists Axis_group_engraver
    \consists Output_property_engraver
    \consists Pure_from_neighbor_engraver
    \consists Staff_collecting_engraver
    \consists Font_size_engraver
    \consists Mark_engraver
    \consists Text_mark_engraver
    \consists Metronome_mark_engraver
    \consists Jump_engraver
    \consists Text_engraver
    \consists Text_spanner_engraver

    keepAliveInterfaces =
      #'(text-script-interface text-interface mark-interface metronome-mark-interface
         text-spanner-interface)
    \override VerticalAxisGroup.remove-empty = ##t
    \override VerticalAxisGroup.remove-first = ##t
    \override VerticalAxisGroup.staff-affinity = #DOWN
    \override VerticalAxisGroup.nonstaff-relatedstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 0) (padding . 0.8) (stretchability . 0))
    \override VerticalAxisGroup.nonstaff-nonstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 0) (padding . 0.8) (stretchability . 0))
    \override VerticalAxisGroup.nonstaff-unrelatedstaff-spacing =
      #'((basic-distance . 0) (minimum-distance . 0) (padding . 1.0) (stretchability . 1000))
    \override RehearsalMark.extra-spacing-width = #'(-0.3 . 0.3)
    \override MetronomeMark.extra-spacing-width = #'(-0.3 . 0.5)
    %% Words at the end of a bar stop short of the barline, where the sign of the next bar begins.
    \override TextMark.stencil =
      #(lambda (grob)
         (let ((ink (ly:text-interface::print grob)))
           (if (and (ly:stencil? ink)
                    (eqv? LEFT (ly:event-property (event-cause grob) 'horizontal-direction))
                    (eqv? RIGHT (ly:grob-property grob 'self-alignment-X)))
               (ly:stencil-combine-at-edge
                ink X RIGHT (make-transparent-box-stencil '(0 . 1.6) '(0 . 1)) 0)
               ink)))
  }

  %% Marks are told to all who print them; this row prints words alone.
  \context {
    \MarkRow
    \name WordRow
    \alias MarkRow
    \description "Words that bend the tempo, under the tempo and rehearsal marks."
    \override MetronomeMark.outside-staff-priority = ##f
    \override MetronomeMark.Y-offset = #0
    \remove Mark_engraver
    \remove Text_mark_engraver
    \remove Jump_engraver
  }

  \context {
    \PianoStaff
    \accepts PedalLane
  }

  \context {
    \Dynamics
    \override DynamicText.after-line-breaking = #dynamics-beside-lines
  }

  \context {
    \name TimingLane
    \description "Time signatures, barlines and repeats; prints nothing."
    \type Engraver_group
  }

  %% The upper staff carries the bar numbers.  Staves are collected there and in the row of marks,
  %% not in the whole score, or their heights would ask for one another in a circle.
  \context {
    \Score
    \accepts MarkRow
    \accepts WordRow
    \accepts PedalLane
    \accepts TimingLane
    \remove Mark_engraver
    \remove Text_mark_engraver
    \remove Metronome_mark_engraver
    \remove Jump_engraver
    \remove Bar_number_engraver
    \remove Staff_collecting_engraver
  }
}
